"""What the designer is told of a separation: what is lost, what is not seen, what reads worse."""

from __future__ import annotations

from itertools import combinations
from math import inf

from artcheck.colour.difference import delta_e_2000_single
from artcheck.domain.manifest import Comparison
from artcheck.domain.measurements import InkMeasured, Measurements
from artcheck.domain.separation import Separated, inks_words
from artcheck.pipeline.ink_choice import locked_inks
from artcheck.pipeline.work import Work
from artcheck.separation.plates import Plates

_NO_GARMENT = (
    "The garment's colour is not known: no white was laid under the inks and nothing was left to"
    " the garment. Add --garment-colour."
)
_OPEN_PAPER = (
    "{} Here they are open. If they are meant white, ask for white ink (--lock-ink white=#ffffff)"
    " and keep the paper (--background keep), or send art with transparency."
)
_FAR_OFF = "One area prints {:.0f} dE00 from the art: another colour. Look at the proof."
_MERGED = "{} all print in {}: where they meet, no edge is left. Look at the proof, or add an ink."
_LEFT = (
    "{} ({:.0%} of the ink) is left to the garment, which has that colour: where it stands on the"
    " cloth alone nothing of it is seen. Recolour it if it should be."
)
_UNUSED = (
    "No part of the art is nearest to {}, which had to be in: it prints nothing and has no plate."
)
MERGED_TIMES = 2.0
"""Limits of another colour by which colours of the art must differ for their edge to be missed."""

_OTHER_COUNT = (
    "The proof reads as {} where {} plates print: look for areas too small or too alike to tell."
)

_WORSE = {"suits": 0, "suits_with_changes": 1, "unsuitable": 2}


def garment_warnings(work: Work) -> list[str]:
    """What was not done for want of the garment's colour."""
    return [] if work.setting.garment is not None else [_NO_GARMENT]


def paper_warnings(work: Work) -> list[str]:
    """White inside the art that was read as open: the proof, which has no paper, cannot tell."""
    judged = next(m for m in work.report.methods if m.id == work.method.id)
    return [
        _OPEN_PAPER.format(finding.text)
        for finding in judged.findings
        if finding.id == "enclosed-paper" and finding.severity != "note"
    ]


def ink_warnings(work: Work, separated: Separated) -> list[str]:
    """What so few inks, or these, cannot show."""
    return [
        *_loss_warnings(work, separated),
        *_merged_warnings(work, separated),
        *_left_warnings(work, separated),
    ]


def _loss_warnings(work: Work, separated: Separated) -> list[str]:
    worst = separated.loss.worst_region_delta_e_2000
    if worst <= work.setting.shop.limits.colour_other.change:
        return []
    return [_FAR_OFF.format(worst)]


def _merged_warnings(work: Work, separated: Separated) -> list[str]:
    """Colours of the art that print in one ink: where they meet, no edge is left."""
    other = work.setting.shop.limits.colour_other.change
    printed: dict[str, list[InkMeasured]] = {}
    for colour in work.measured.inks.inks:
        name, ink, cloth = _nearest(colour, work, separated)
        if cloth >= ink:
            printed.setdefault(name, []).append(colour)
    return [
        _MERGED.format(" and ".join(colour.hex for colour in colours), name)
        for name, colours in printed.items()
        if any(
            delta_e_2000_single(one.lab, two.lab) > MERGED_TIMES * other
            for one, two in combinations(colours, 2)
        )
    ]


def _left_warnings(work: Work, separated: Separated) -> list[str]:
    """Colours of the art that the garment stands for: on the cloth itself they cannot be seen.

    Where the order asks for the whole art in one ink, that prints them there.
    """
    if len(work.setting.print_.inks) == 1:
        return []
    within = work.setting.shop.limits.garment_match.change
    return [
        _LEFT.format(colour.hex, colour.share)
        for colour in work.measured.inks.inks
        for _, ink, cloth in (_nearest(colour, work, separated),)
        if cloth <= within and cloth < ink
    ]


def _nearest(colour: InkMeasured, work: Work, separated: Separated) -> tuple[str, float, float]:
    """The ink nearest to a colour, its CIEDE2000, and the garment's (infinite: not known)."""
    garment = work.setting.garment
    cloth = inf if garment is None else delta_e_2000_single(garment.lab, colour.lab)
    apart, name = min((delta_e_2000_single(i.lab, colour.lab), i.name) for i in separated.inks)
    return name, apart, cloth


def unused_warnings(work: Work, plates: Plates) -> list[str]:
    """Inks that had to be in, and print nowhere."""
    printed = {plate.name for plate in plates.plates}
    unused = [ink.name for ink in locked_inks(work) if ink.name not in printed]
    return [_UNUSED.format(" and ".join(unused))] if unused else []


def proof_warnings(plates: Plates, measured: Measurements) -> list[str]:
    """Another number of inks in the proof than plates."""
    made = sum(1 for plate in plates.plates if plate.role == "ink")
    found = measured.inks.count
    if found == made or (plates.has_dots and found is None):
        return []
    seen = "a photograph" if found is None else inks_words(found)
    return [_OTHER_COUNT.format(seen, made)]


def verdict_warnings(comparison: Comparison) -> list[str]:
    """A proof that is judged worse than the art."""
    before, after = comparison.before.verdict, comparison.after.verdict
    if _WORSE[after] <= _WORSE[before]:
        return []
    return [f"Measured again, this is judged worse than the art: {after.replace('_', ' ')}."]
