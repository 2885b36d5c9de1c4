"""What an order costs, exactly, and where the cheapest method changes with quantity."""
