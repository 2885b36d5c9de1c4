"""The separation: art and order to plates or film, with the result measured and judged again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from artcheck.domain.artwork import Cutout
from artcheck.domain.check import Report
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import Order
from artcheck.domain.separating import SeparationOptions
from artcheck.domain.separation import Separated, inks_words
from artcheck.domain.shop import Method, Shop
from artcheck.errors import UsageError
from artcheck.pipeline.art import cutout_and_fades, drawn_at, opened
from artcheck.pipeline.ink_choice import plan_of
from artcheck.pipeline.making import film_of, screen_of, separated_into, trapped_plates
from artcheck.pipeline.photographs import photograph_in_one_ink
from artcheck.pipeline.proofing import compared
from artcheck.pipeline.setting import Setting, setting_of
from artcheck.pipeline.telling import (
    garment_warnings,
    ink_warnings,
    paper_warnings,
    proof_warnings,
    unused_warnings,
    verdict_warnings,
)
from artcheck.pipeline.work import Work
from artcheck.separation.job import SeparationJob
from artcheck.separation.proof import proof_of

MOST_PIXELS = 170_000_000
"""Pixels of one plate: 22 x 21 in at 600 ppi; four plates of 162 million took 2.4 GiB."""


def separate(
    order: Order,
    shop: Shop,
    options: SeparationOptions | None = None,
    *,
    index: int = 0,
    data: bytes | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> SeparationJob:
    """Make one print of an order ready to be printed: plates for inks, film for full colour.

    The print's art is read from its path, or from ``data`` where that is given.

    Raises
    ------
    ArtFileError, ColourError
        As `artcheck.check`.
    UsageError
        No such method, a number of inks that cannot be had, or art that inks cannot print.
    """
    from artcheck.pipeline import evaluate

    options = options or SeparationOptions()
    _check_count(options.inks)
    print_ = order.prints[index]
    progress(f"measuring {Path(print_.art).name}")
    measured, cutout, fades = _read(order, index, data)
    report = evaluate(measured, order, shop, index=index)
    setting, method = setting_of(measured, order, shop, index), _method(report, shop, options)
    _check_size(setting, method)
    if measured.kind == "vector":
        progress("drawing it as fine as its plates")
        cutout = drawn_at(print_, cutout, setting.sized.width_in, method.output_ppi, data)
    work = Work(
        measured=measured,
        cutout=cutout,
        setting=setting,
        report=report,
        method=method,
        options=options,
        fades=fades,
    )
    return _filmed(work, progress) if _is_film(work.method) else _plated(work, progress)


def _check_size(setting: Setting, method: Method) -> None:
    sized, ppi = setting.sized, method.output_ppi
    pixels = sized.width_in * ppi * sized.height_in * ppi
    if pixels > MOST_PIXELS:
        raise UsageError(
            f"A print of {sized.width_in:.4g} x {sized.height_in:.4g} in at {ppi:g} ppi has"
            f" {pixels / 1e6:,.0f} million pixels, and {MOST_PIXELS / 1e6:.0f} million can be made."
            " Make it smaller, or lower the method's output_ppi in the shop file."
        )


def _read(
    order: Order, index: int, data: bytes | None
) -> tuple[Measurements, Cutout, NDArray[np.bool_]]:
    """The print's art, opened once, and where it fades."""
    from artcheck.measure import measure

    artwork = opened(order.prints[index], data)
    measured = measure(artwork)
    return measured, *cutout_and_fades(artwork, measured.tone)


# --- which method -------------------------------------------------------------------------------


def _is_film(method: Method) -> bool:
    return method.prints_every_colour


def _method(report: Report, shop: Shop, options: SeparationOptions) -> Method:
    """The method asked for, the recommended one, or the first that prints so many inks."""
    known = {method.id: method for method in shop.methods}
    if options.method is not None:
        if options.method not in known:
            raise UsageError(
                f"No method is called '{options.method}'. This shop has: {', '.join(known)}."
            )
        return _takes_inks(known[options.method], options)
    recommended = known.get(report.recommendation.method or "")
    wanted = options.inks
    if recommended is not None and (wanted is None or not _is_film(recommended)):
        return recommended
    spot = [method for method in shop.methods if not _is_film(method)]
    if wanted is not None:
        spot = [method for method in spot if (method.most_inks or wanted) >= wanted] or spot
    if spot:
        return spot[0]
    if wanted is None:
        return shop.methods[0]
    raise UsageError("This shop has no method that prints inks. Leave --inks out to make a film.")


def _takes_inks(method: Method, options: SeparationOptions) -> Method:
    if options.inks is not None and _is_film(method):
        raise UsageError(
            f"{method.name} prints every colour, so inks are not counted. Leave --inks out, or"
            " name a method that prints inks."
        )
    return method


# --- inks ---------------------------------------------------------------------------------------


def _check_count(inks: int | None) -> None:
    if inks is not None and inks < 1:
        raise UsageError(f"{inks} inks print nothing. Ask for 1 or more.")


def _plated(work: Work, progress: Callable[[str], None]) -> SeparationJob:
    separated = _photograph(work, progress) or _flat(work, progress)
    plates = trapped_plates(work, separated)
    progress("measuring the proof")
    proof = proof_of(plates)
    comparison, after = compared(work, proof, separated.inks, dots=plates.has_dots)
    return SeparationJob(
        report=work.report,
        cutout=work.cutout,
        method=work.method,
        proof=proof,
        comparison=comparison,
        separated=separated,
        plates=plates,
        warnings=(
            *separated.warnings,
            *plates.warnings,
            *garment_warnings(work),
            *paper_warnings(work),
            *ink_warnings(work, separated),
            *unused_warnings(work, plates),
            *proof_warnings(plates, after),
            *verdict_warnings(comparison),
        ),
    )


def _photograph(work: Work, progress: Callable[[str], None]) -> Separated | None:
    if work.measured.tone.kind != "photo":
        return None
    progress("screening the photograph")
    return photograph_in_one_ink(work, dots=screen_of(work) is not None)


def _flat(work: Work, progress: Callable[[str], None]) -> Separated:
    progress("choosing inks")
    plan = plan_of(work)
    progress(f"separating into {inks_words(len(plan.inks))}")
    return separated_into(work, plan)


# --- film ---------------------------------------------------------------------------------------


def _filmed(work: Work, progress: Callable[[str], None]) -> SeparationJob:
    progress("making the film")
    film = film_of(work)
    proof = film.proof
    progress("measuring the film")
    comparison, _ = compared(work, proof, ())
    return SeparationJob(
        report=work.report,
        cutout=work.cutout,
        method=work.method,
        proof=proof,
        comparison=comparison,
        film=film,
        warnings=(
            *film.warnings,
            *garment_warnings(work),
            *paper_warnings(work),
            *verdict_warnings(comparison),
        ),
    )
