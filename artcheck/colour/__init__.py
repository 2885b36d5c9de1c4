"""Colour spaces, differences, print conditions and reach."""
