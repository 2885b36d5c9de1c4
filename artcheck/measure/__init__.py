"""Pixels become `Measurements`."""
