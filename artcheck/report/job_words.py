"""Words on a separation, the same in every output."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from artcheck.domain.base import Box
from artcheck.domain.manifest import Comparison, Manifest, Side
from artcheck.domain.separation import Change, Loss, inks_words
from artcheck.report.words import NOTHING, plain

VERDICTS = {
    "suits": "suits",
    "suits_with_changes": "suits with changes",
    "unsuitable": "unsuitable",
}


def made_words(manifest: Manifest, method: str) -> str:
    """What was made of what, by which method and how large."""
    count = sum(ink.role == "ink" for ink in manifest.inks)
    inks = inks_words(count) if count else "full colour"
    size = f"{manifest.width_in:.4g} x {manifest.height_in:.4g} in at {manifest.ppi:g} ppi"
    return f"{plain(manifest.artwork.file)} in {inks}: {plain(method)}, {size}."


def loss_words(loss: Loss) -> str:
    """How far the simplified version is from the art."""
    return (
        f"Colour lost (dE00): {loss.mean_delta_e_2000:.1f} on average,"
        f" {loss.p95_delta_e_2000:.1f} for the worst twentieth of the ink,"
        f" {loss.worst_region_delta_e_2000:.1f} in the worst area."
    )


def change_lines(changes: Sequence[Change], ppi: float) -> Iterator[str]:
    """What was altered, a line for each kind, with how often and where first."""
    kinds: dict[str, list[Change]] = {}
    for change in changes:
        kinds.setdefault(_COUNTED.sub("", change.what), []).append(change)
    for what, found in kinds.items():
        count = sum(map(_count_of, found))
        placed = [change.where for change in found if change.where is not None]
        first = _place(placed[0], ppi) if placed else ""
        if count == 1:
            yield f"{plain(what)}, {first}" if first else plain(what)
        else:
            yield f"{plain(what)}: {count} places" + (f", the first {first}" if first else "")


_COUNTED = re.compile(r" \((\d+) (?:of them|more elsewhere)\)$")
"""What a change's words end with where it stands for several."""


def _count_of(change: Change) -> int:
    found = _COUNTED.search(change.what)
    return int(found[1]) if found else 1


def _place(where: Box, ppi: float) -> str:
    row0, col0, _, _ = where
    return f"{col0 / ppi:.2f} in from the left and {row0 / ppi:.2f} in down"


def comparison_rows(comparison: Comparison) -> Iterator[tuple[str, str, str]]:
    """The art beside its simplified version: what is compared, and the two values."""
    before, after = comparison.before, comparison.after
    yield "inks", _count(before), _count(after)
    yield "verdict", VERDICTS[before.verdict], VERDICTS[after.verdict]
    for words, key in (("cost", "total"), ("price", "price_total"), ("each", "price_per_piece")):
        amounts = [getattr(side, key) for side in (before, after)]
        if any(amount is not None for amount in amounts):
            shown = [NOTHING if a is None else f"{a:f} {comparison.currency}" for a in amounts]
            yield words, shown[0], shown[1]


def _count(side: Side) -> str:
    return NOTHING if side.inks is None else str(side.inks)
