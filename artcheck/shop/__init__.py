"""The shop's own inks, methods, prices and limits: packaged defaults under the shop's file."""
