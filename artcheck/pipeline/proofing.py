"""What was made, measured and judged again like any art, beside the art itself."""

from __future__ import annotations

import math
from collections.abc import Sequence

from artcheck.colour.difference import delta_e_2000_single
from artcheck.colour.spaces import hex_to_lab
from artcheck.domain.artwork import Artwork, Background
from artcheck.domain.check import InkReport, MethodReport
from artcheck.domain.findings import verdict_of
from artcheck.domain.manifest import Comparison, Side
from artcheck.domain.measurements import Measurements
from artcheck.domain.separation import SpotInk
from artcheck.pipeline.methods import case_of, method_report
from artcheck.pipeline.setting import setting_of
from artcheck.pipeline.work import Work
from artcheck.separation.proof import Proof


def compared(
    work: Work, proof: Proof, inks: Sequence[SpotInk], *, dots: bool = False
) -> tuple[Comparison, Measurements]:
    """The method's report on the art and on the proof, side by side.

    ``dots``: tints are printed as dots, so that a fade of the proof is settled.
    """
    measured = measured_proof(proof)
    before = next(m for m in work.report.methods if m.id == work.method.id)
    after = _judged(work, measured, proof.ppi, inks)
    if dots:
        findings = tuple(f for f in after.findings if f.id != "fade-on-spot")
        after = after.model_copy(update={"findings": findings, "verdict": verdict_of(findings)})
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
    work: Work, measured: Measurements, ppi: float, inks: Sequence[SpotInk]
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
        to_settle=tuple(f.text for f in report.findings if f.severity != "note"),
    )
