"""Frozen records: what passes between the parts. No I/O, no arrays at run time."""
