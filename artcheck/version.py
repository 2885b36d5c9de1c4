"""The version, in one place: packaging, the report and the command line read it here."""

__version__ = "0.1.0"
