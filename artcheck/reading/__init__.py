"""Files become `Artwork`: the only place where a customer's file is opened."""
