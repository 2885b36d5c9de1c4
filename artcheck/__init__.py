"""Reads a customer's art, measures it, and says how to print it on garments."""

from artcheck.version import __version__

__all__ = ["__version__"]
