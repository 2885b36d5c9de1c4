"""Planes beside a picture's own: spot channels with their names and colours."""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from artcheck.domain.artwork import DeclaredInk, ReadingNote
from artcheck.domain.base import Lab
from artcheck.reading import resources as block

_SPOT = 2
"""Kind of a channel that is an ink; 0 and 1 are saved selections."""

_RGB, _CMYK, _LAB, _GREY = 0, 2, 7, 8
_FULL = 65535.0


@dataclass(frozen=True, slots=True)
class ExtraPlanes:
    """What lies beside the picture: inks that a channel names, and what to tell of them."""

    inks: tuple[DeclaredInk, ...] = ()
    notes: tuple[ReadingNote, ...] = ()


def named_extra(
    count: int, blocks: Mapping[int, bytes], ink_names: Sequence[str] = ()
) -> ExtraPlanes:
    """What ``count`` planes beside picture and transparency are.

    Saved selections are no part of the art. Planes of which nothing is said may be inks, so they
    are told.
    """
    if count <= 0:
        return ExtraPlanes()
    kinds = _display_info(blocks)[-count:]
    names = (list(ink_names) or _names(blocks))[-count:]
    names = [f"channel {n}" for n in range(1, count - len(names) + 1)] + names
    if not kinds:
        return ExtraPlanes(notes=(_note(names),))
    kinds = [(_SPOT, None)] * (count - len(kinds)) + kinds
    spots = [
        DeclaredInk(name=name, lab=lab)
        for name, (kind, lab) in zip(names, kinds, strict=True)
        if kind == _SPOT
    ]
    return ExtraPlanes(tuple(spots), (_note([ink.name for ink in spots]),) if spots else ())


def _note(names: Sequence[str]) -> ReadingNote:
    count = "1 channel" if len(names) == 1 else f"{len(names)} channels"
    return ReadingNote(
        id="spot-channels-left-out",
        text=(
            f"The file holds {count} beside its picture ({', '.join(names)}), such as spot inks:"
            " they are not in what was read and measured."
        ),
    )


def _names(blocks: Mapping[int, bytes]) -> list[str]:
    if block.UNICODE_ALPHA_NAMES in blocks:
        return block.unicode_strings(blocks[block.UNICODE_ALPHA_NAMES])
    return block.pascal_strings(blocks.get(block.ALPHA_NAMES, b""))


def _display_info(blocks: Mapping[int, bytes]) -> list[tuple[int, Lab | None]]:
    """(kind, colour) of each extra channel, in their order; empty when the file does not say."""
    data, start, size = blocks.get(block.DISPLAY_INFO_FLOAT, b""), 4, 13
    if not data:
        data, start, size = blocks.get(block.DISPLAY_INFO, b""), 0, 14
    entries = []
    for at in range(start, len(data) - 12, size):
        space, *values = struct.unpack_from(">H4H", data, at)
        entries.append((data[at + 12], _lab(space, values)))
    return entries


def _lab(space: int, values: Sequence[int]) -> Lab | None:
    """An editor's colour as CIELAB D50, where it states one that means something by itself."""
    if space == _LAB:
        signed = [v - 65536 if v > 32767 else v for v in values]
        return values[0] / 100, signed[1] / 100, signed[2] / 100
    if space == _RGB:
        import numpy as np

        from artcheck.colour.spaces import srgb8_to_lab

        codes = np.rint(np.array(values[:3]) / _FULL * 255).astype(np.uint8)
        lightness, a, b = srgb8_to_lab(codes[np.newaxis])[0].tolist()
        return lightness, a, b
    if space == _CMYK:
        from artcheck.colour.print_model import packaged_model

        tones = [1 - v / _FULL for v in values]
        lightness, a, b = packaged_model("tr006").lab([tones])[0].tolist()
        return lightness, a, b
    return None
