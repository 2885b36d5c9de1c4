"""The separation: art and order to plates or film, with the result measured and judged again."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.spaces import hex_to_lab, lab_to_hex, parse_colour
from artcheck.domain.artwork import Artwork, Background, Cutout
from artcheck.domain.check import InkReport, MethodReport, Report
from artcheck.domain.manifest import Comparison, Side
from artcheck.domain.measurements import Measurements
from artcheck.domain.order import BrandColour, Order
from artcheck.domain.separating import SeparationOptions
from artcheck.domain.separation import InkPlan, Separated, SpotInk
from artcheck.domain.shop import Method, Shop
from artcheck.errors import UsageError
from artcheck.matching import named_colours, nearest_stock
from artcheck.pipeline.methods import UNDERBASE_BELOW_L, case_of, method_report
from artcheck.pipeline.setting import Setting, setting_of
from artcheck.separation.film import Film, FilmSettings, make_film
from artcheck.separation.job import SeparationJob
from artcheck.separation.plates import Plates, PlateSettings, make_plates
from artcheck.separation.proof import Proof, proof_of

MOST_PIXELS = 170_000_000
"""Pixels of one plate: 22 x 21 in at 600 ppi; four plates of 162 million took 2.4 GiB."""

_NO_GARMENT = (
    "The garment's colour is not known: no white was laid under the inks and nothing was left to"
    " the garment. Add --garment-colour."
)
_FAR_OFF = "One area prints {:.0f} dE00 from the art: another colour. Look at the proof."
_OTHER_COUNT = (
    "The proof reads as {} where {} plates print: look for areas too small or too alike to tell."
)

_WORSE = {"suits": 0, "suits_with_changes": 1, "unsuitable": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Work:
    """What every step needs."""

    measured: Measurements
    cutout: Cutout
    setting: Setting
    report: Report
    method: Method
    options: SeparationOptions


def separate(
    order: Order,
    shop: Shop,
    options: SeparationOptions | None = None,
    *,
    index: int = 0,
    progress: Callable[[str], None] = lambda _: None,
) -> SeparationJob:
    """Make one print of an order ready to be printed: plates for inks, film for full colour.

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
    measured, cutout = _read(order, index)
    report = evaluate(measured, order, shop, index=index)
    work = _Work(
        measured=measured,
        cutout=cutout,
        setting=setting_of(measured, order, shop, index),
        report=report,
        method=_method(report, shop, options),
        options=options,
    )
    _check_size(work)
    return _filmed(work, progress) if _is_film(work.method) else _plated(work, progress)


def _check_size(work: _Work) -> None:
    sized, ppi = work.setting.sized, work.method.output_ppi
    pixels = sized.width_in * ppi * sized.height_in * ppi
    if pixels > MOST_PIXELS:
        raise UsageError(
            f"A print of {sized.width_in:.4g} x {sized.height_in:.4g} in at {ppi:g} ppi has"
            f" {pixels / 1e6:,.0f} million pixels, and {MOST_PIXELS / 1e6:.0f} million can be made."
            " Make it smaller, or lower the method's output_ppi in the shop file."
        )


def _read(order: Order, index: int) -> tuple[Measurements, Cutout]:
    """The print's art, opened once."""
    from artcheck.measure import measure
    from artcheck.pipeline import cutout_of
    from artcheck.reading import read

    print_ = order.prints[index]
    artwork = read(Path(print_.art), background=print_.background, page=print_.page - 1)
    return measure(artwork), cutout_of(artwork)


# --- which method -------------------------------------------------------------------------------


def _is_film(method: Method) -> bool:
    return method.most_inks is None and method.family in ("full_colour", "direct")


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


def _plated(work: _Work, progress: Callable[[str], None]) -> SeparationJob:
    _refuse_photograph(work)
    progress("choosing inks")
    plan = plan_of(work)
    progress(f"separating into {len(plan.inks)} inks")
    separated = _separated(work, plan)
    plates = make_plates(separated, _plate_settings(work))
    progress("measuring the proof")
    proof = proof_of(plates)
    comparison, after = _compared(work, proof, separated.inks)
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
            *_garment_warnings(work),
            *_loss_warnings(work, separated),
            *_proof_warnings(plates, after),
            *_verdict_warnings(comparison),
        ),
    )


def _refuse_photograph(work: _Work) -> None:
    tone = work.measured.tone
    if tone.kind != "photo":
        return
    films = [method.id for method in work.setting.shop.methods if method.photos]
    advice = f"Print it in full colour (--method {films[0]})" if films else "Send flat art"
    raise UsageError(
        f"{work.measured.file} is a photograph ({tone.photo_share:.0%} of its ink): inks without"
        f" tints cannot hold it. {advice}."
    )


def plan_of(work: _Work) -> InkPlan:
    """The inks to print."""
    from artcheck.separation.colours import art_colours
    from artcheck.separation.palette import ink_plans, knee

    shop, wanted = work.setting.shop, work.options.inks
    most = work.method.most_inks
    if most is not None and wanted is not None and wanted > most:
        raise UsageError(f"{work.method.name} prints {_inks(most)} at most, not {wanted}.")
    locked = [_locked(brand, shop) for brand in work.options.locked]
    garment = work.setting.garment
    plans = ink_plans(
        art_colours(work.measured),
        _candidates(work),
        wanted or most or max(len(work.measured.inks.inks), 1),
        locked,
        garment.lab if garment else None,
        knock_out_within=shop.limits.garment_match.change,
    )
    if wanted is None:
        fewest = knee(plans).inks
        return next(plan for plan in plans if len(plan.inks) == fewest)
    if len(plans[-1].inks) < wanted:
        raise UsageError(_too_many(work, wanted, len(plans[-1].inks)))
    return next(plan for plan in plans if len(plan.inks) == wanted)


def _too_many(work: _Work, wanted: int, useful: int) -> str:
    return (
        f"{work.measured.file} needs {_inks(useful)} at most: {wanted} would print nothing more."
        f" Ask for {useful} or fewer."
    )


def _inks(count: int) -> str:
    return "1 ink" if count == 1 else f"{count} inks"


def _locked(brand: BrandColour, shop: Shop) -> SpotInk:
    """An ink that must be in: the shelf's where it matches, else mixed to order."""
    lab = parse_colour(brand.colour, named_colours(shop))
    stock = nearest_stock(lab, shop.inks)
    if stock is not None and stock.delta_e_2000 <= shop.limits.colour_match.change:
        lab = stock.lab or lab
        return SpotInk(name=stock.name, hex=lab_to_hex(lab), lab=lab, stock=True)
    return SpotInk(name=brand.name, hex=lab_to_hex(lab), lab=lab, stock=False)


def _candidates(work: _Work) -> list[SpotInk]:
    """The shelf, and what the report would have mixed; only the order's inks where it names any."""
    shelf = [
        SpotInk(name=ink.name, hex=lab_to_hex(ink.lab), lab=ink.lab, stock=True)
        for ink in work.setting.shop.inks
    ]
    asked = bool(work.setting.print_.inks)
    own = [
        SpotInk(name=ink.name, hex=lab_to_hex(lab), lab=lab, stock=False)
        for ink in work.report.inks.list
        if ink.plan == "mixed" and (work.method.mixes_inks or asked)
        for lab in (_target(ink, work.report),)
    ]
    if asked:
        names = {ink.name for ink in work.report.inks.list}
        return [*(ink for ink in shelf if ink.name in names), *own]
    return [*shelf, *own]


def _target(ink: InkReport, report: Report) -> tuple[float, float, float]:
    """A mixed ink is mixed to the brand's colour, not to the file's nearest."""
    brand = next((b for b in report.brand_colours if b.name == ink.name), None)
    return brand.target_lab if brand else ink.lab


def _separated(work: _Work, plan: InkPlan) -> Separated:
    from artcheck.separation.regions import RegionLimits, separate_regions

    limits, garment = work.setting.shop.limits, work.setting.garment
    cut = work.method.family == "cut_film"
    dots = bool(work.measured.tone.halftone)  # a screen's dots are meant: none is a speck or a gap
    line = limits.line_cut_film if cut else limits.line_spot
    return separate_regions(
        work.cutout,
        plan,
        ppi=work.method.output_ppi,
        width_in=work.setting.sized.width_in,
        limits=RegionLimits(
            line_pt=0.0 if dots else line.change,
            gap_pt=0.0 if dots else limits.gap_spot.change,
            speck_pt=0.0 if dots else limits.speck.change,
            knock_out_within=limits.garment_match.change,
        ),
        garment_lab=garment.lab if garment else None,
    )


def _plate_settings(work: _Work) -> PlateSettings:
    method, garment, trap_pt = work.method, work.setting.garment, work.options.trap_pt
    dark = garment is not None and garment.lab[0] < UNDERBASE_BELOW_L
    return PlateSettings(
        trap_pt=method.trap_pt if trap_pt is None else trap_pt,
        choke_pt=method.choke_pt,
        white_under=dark and not method.opaque,
    )


# --- film ---------------------------------------------------------------------------------------


def _filmed(work: _Work, progress: Callable[[str], None]) -> SeparationJob:
    progress("making the film")
    garment, shop = work.setting.garment, work.setting.shop
    knocked = work.options.knock_out_garment
    if knocked and garment is None:
        raise UsageError("Which garment is left open? Add --garment-colour.")
    film = make_film(
        work.cutout,
        FilmSettings(
            ppi=work.method.output_ppi,
            width_in=work.setting.sized.width_in,
            choke_pt=work.method.choke_pt,
            edges=work.options.film_edges,
            matte_hex=work.measured.edges.matte_hex,
            knock_out=garment.lab if knocked and garment else None,
            knock_out_within=shop.limits.garment_match.change,
        ),
    )
    proof = film_proof(film)
    progress("measuring the film")
    comparison, _ = _compared(work, proof, ())
    return SeparationJob(
        report=work.report,
        cutout=work.cutout,
        method=work.method,
        proof=proof,
        comparison=comparison,
        film=film,
        warnings=(*film.warnings, *_garment_warnings(work), *_verdict_warnings(comparison)),
    )


def film_proof(film: Film) -> Proof:
    """The film as it will look."""
    import cv2
    import numpy as np

    part = cv2.multiply(film.rgb, cv2.merge([film.alpha] * 3), scale=1 / 255)
    return Proof(part=np.asarray(part, np.uint8), coverage=film.alpha, ppi=film.ppi)


# --- measured again -----------------------------------------------------------------------------


def _compared(
    work: _Work, proof: Proof, inks: Sequence[SpotInk]
) -> tuple[Comparison, Measurements]:
    """The method's report on the art and on the proof, side by side."""
    measured = measured_proof(proof)
    before = next(m for m in work.report.methods if m.id == work.method.id)
    after = _judged(work, measured, proof.ppi, inks)
    comparison = Comparison(
        method=work.method.id,
        currency=work.setting.shop.currency,
        before=_side(before, work.measured.inks.count),
        after=_side(after, measured.inks.count),
    )
    return comparison, measured


def measured_proof(proof: Proof) -> Measurements:
    """The proof, without the garment, measured as any art is."""
    import hashlib

    from artcheck.measure import measure

    height, width = proof.coverage.shape
    return measure(
        Artwork(
            name="proof",
            digest=hashlib.sha256(proof.part.tobytes()).hexdigest(),
            kind="raster",
            rgb=proof.rgb,
            alpha=proof.coverage,
            background=Background(kind="transparent", hex=None, reason="made by artcheck"),
            source_size=(width, height),
            had_alpha=True,
            resolution_ppi=proof.ppi,
        )
    )


def _judged(
    work: _Work, measured: Measurements, ppi: float, inks: Sequence[SpotInk]
) -> MethodReport:
    order, setting = work.setting.order, work.setting
    width_in = measured.box_size_px[0] / ppi
    while measured.box_size_px[0] / width_in < ppi:  # else 300 ppi may read as 299.99...
        width_in = math.nextafter(width_in, 0)
    print_ = setting.print_.model_copy(
        update={"width_in": width_in, "height_in": None, "inks": (), "background": "auto"}
    )
    alone = order.model_copy(update={"prints": (print_,)})
    again = setting_of(measured, alone, setting.shop, 0)
    reports = as_planned(again.inks, inks) if inks else again.inks
    again = replace(again, blank=setting.blank)
    return method_report(work.method, case_of(again, reports), again)


def as_planned(found: Sequence[InkReport], inks: Sequence[SpotInk]) -> tuple[InkReport, ...]:
    """The inks found in the proof under the names and plans of those it was made of.

    A screen cannot show every ink, so the colours of a proof may lie off its inks.
    """
    shown = {ink: hex_to_lab(ink.hex) for ink in inks}
    planned = []
    for report in found:
        ink = min(inks, key=lambda one: delta_e_2000_single(shown[one], report.lab))
        planned.append(
            report.model_copy(
                update={
                    "name": ink.name,
                    "hex": ink.hex,
                    "lab": ink.lab,
                    "is_garment": False,
                    "plan": "stock" if ink.stock else "mixed",
                }
            )
        )
    return tuple(planned)


def _side(report: MethodReport, inks: int | None) -> Side:
    cost = report.cost
    return Side(
        inks=inks if report.inks is None else report.inks,
        verdict=report.verdict,
        total=cost.total if cost else None,
        price_total=cost.price_total if cost else None,
        price_per_piece=cost.price_per_piece if cost else None,
    )


# --- warnings -----------------------------------------------------------------------------------


def _garment_warnings(work: _Work) -> list[str]:
    return [] if work.setting.garment is not None else [_NO_GARMENT]


def _loss_warnings(work: _Work, separated: Separated) -> list[str]:
    worst = separated.loss.worst_region_delta_e_2000
    if worst <= work.setting.shop.limits.colour_other.change:
        return []
    return [_FAR_OFF.format(worst)]


def _proof_warnings(plates: Plates, measured: Measurements) -> list[str]:
    made = sum(1 for plate in plates.plates if plate.role == "ink")
    found = measured.inks.count
    if found == made:
        return []
    seen = "a photograph" if found is None else _inks(found)
    return [_OTHER_COUNT.format(seen, made)]


def _verdict_warnings(comparison: Comparison) -> list[str]:
    before, after = comparison.before.verdict, comparison.after.verdict
    if _WORSE[after] <= _WORSE[before]:
        return []
    return [f"Measured again, this is judged worse than the art: {after.replace('_', ' ')}."]
