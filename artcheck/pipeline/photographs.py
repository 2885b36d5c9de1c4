"""Photographs for methods that print inks: refused with the reason, or in one ink on request."""

from __future__ import annotations

from artcheck.domain.separation import Separated, SpotInk
from artcheck.errors import UsageError
from artcheck.pipeline.ink_choice import locked_inks, shelf_inks
from artcheck.pipeline.work import Work
from artcheck.separation.photograph import UNKNOWN_GARMENT, screened_photograph

LEAST_CONTRAST = 20.0
"""L* between ink and garment under which no picture is seen (the packaged default of ``contrast``,
at which it stops)."""


def photograph_in_one_ink(work: Work, *, dots: bool) -> Separated:
    """The photograph as a halftone of one ink, where that is asked for.

    The ink is the locked one, else the shelf's that differs most from the garment in lightness.

    Raises
    ------
    UsageError
        It is not asked for, more than one ink is, or no ink shows on the garment.
    """
    if not dots or work.options.fades != "halftone":
        raise UsageError(_refusal(work))
    if (work.options.inks or 1) > 1 or len(work.options.locked) > 1:
        raise UsageError(
            "A photograph is printed as a halftone of one ink. Ask for --inks 1, or print it in"
            " full colour."
        )
    garment = work.setting.garment
    return screened_photograph(
        work.cutout,
        _ink(work),
        garment.lab if garment else None,
        ppi=work.method.output_ppi,
        width_in=work.setting.sized.width_in,
    )


def _refusal(work: Work) -> str:
    films = [method.id for method in work.setting.shop.methods if method.photos]
    advice = f"Print it in full colour (--method {films[0]})" if films else "Send flat art"
    if work.method.fades == "halftone" and work.method.halftone_lpi:
        advice += ", or ask for a halftone of one ink (--halftone-fades)"
    return (
        f"{work.measured.file} is a photograph ({work.measured.tone.photo_share:.0%} of its ink):"
        f" inks without tints cannot hold it. {advice}."
    )


def _ink(work: Work) -> SpotInk:
    garment = work.setting.garment
    lightness = (garment.lab if garment else UNKNOWN_GARMENT)[0]
    choice = locked_inks(work) or shelf_inks(work.setting)
    ink = max(choice, key=lambda one: abs(one.lab[0] - lightness), default=None)
    if ink is None or abs(ink.lab[0] - lightness) < LEAST_CONTRAST:
        raise UsageError(
            "No ink differs enough in lightness from the garment to show a photograph. Lock one"
            " that does with --lock-ink."
        )
    return ink
