"""Sound files, harmed in every way that a broken copy, a broken writer or ill will harms them."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator

from tests.hostile.structure import boundaries

_LENGTHS = (0, 1, 0x7F, 0xFF)
"""Bytes that make the worst lengths, counts and offsets when they stand in such a field."""

SEED = 20_261_126


def truncated(data: bytes) -> Iterator[bytes]:
    """The file broken off at each boundary of its structure."""
    for at in boundaries(data):
        yield data[:at]


def wrong_fields(data: bytes, most: int) -> Iterator[bytes]:
    """The four bytes after a boundary overwritten: lengths, counts, kinds and offsets that lie."""
    places = boundaries(data)
    for at in _some(places, most):
        for byte in _LENGTHS:
            yield data[:at] + bytes([byte] * 4) + data[at + 4 :]


def flipped(data: bytes, trials: int) -> Iterator[bytes]:
    """Bits turned over, one to sixty-four of them, more often near the start."""
    chance = random.Random(SEED)
    for _ in range(trials):
        harmed = bytearray(data)
        for _ in range(2 ** chance.randrange(7)):
            near = chance.random() < 0.5
            at = chance.randrange(min(len(data), 512) if near else len(data))
            harmed[at] ^= 1 << chance.randrange(8)
        yield bytes(harmed)


def rearranged(data: bytes, trials: int) -> Iterator[bytes]:
    """Parts left out, doubled, or changed places with each other."""
    chance = random.Random(SEED)
    places = [0, *boundaries(data), len(data)]
    parts = [data[a:b] for a, b in itertools.pairwise(places)]
    for _ in range(trials):
        mixed = list(parts)
        one, other = chance.randrange(len(parts)), chance.randrange(len(parts))
        match chance.randrange(3):
            case 0:
                del mixed[one]
            case 1:
                mixed.insert(other, mixed[one])
            case _:
                mixed[one], mixed[other] = mixed[other], mixed[one]
        yield b"".join(mixed)


def _some(places: list[int], most: int) -> list[int]:
    """At most so many of them, spread evenly, the first among them."""
    step = max(1, -(-len(places) // most))
    return places[::step]
