"""Placing rectangles: exact lengths, bounds, block recursion, skyline search, the one check."""
