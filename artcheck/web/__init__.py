"""The page at the desk: art is dropped in, orders are asked about, on this computer alone."""

from artcheck.web.app import create_app

__all__ = ["create_app"]
