"""Words on a separation, the same in every output."""

from __future__ import annotations

from collections.abc import Iterator

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


def change_words(change: Change, ppi: float) -> str:
    """What was altered, and where on the print."""
    if change.where is None:
        return plain(change.what)
    row0, col0, _, _ = change.where
    return f"{plain(change.what)}, {col0 / ppi:.2f} in from the left and {row0 / ppi:.2f} in down"


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
