"""Puts the report together: every measured thing under its promised key."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from artcheck.colour.spaces import lab_to_hex
from artcheck.domain.check import (
    ArtworkReport,
    CountReading,
    DetailReport,
    EdgesReport,
    GarmentReport,
    GroupReport,
    HalftoneReport,
    InkReport,
    InksReport,
    LadderRung,
    MethodReport,
    PrintedReport,
    Recommendation,
    Report,
    ResolutionReport,
    ToneReport,
)
from artcheck.domain.findings import Finding
from artcheck.domain.measurements import GroupMeasured, LetterRow, Measurements, Sized
from artcheck.domain.shop import Limits
from artcheck.judge import Case, largest_width_in, speck_places, type_size_pt
from artcheck.pipeline.setting import Setting
from artcheck.version import __version__


def report_of(
    setting: Setting,
    inks: tuple[InkReport, ...],
    case: Case,
    methods: tuple[MethodReport, ...],
    answer: Recommendation,
    ladder: tuple[LadderRung, ...],
) -> Report:
    """The whole report of one print."""
    sized, measured = setting.sized, setting.sized.measured
    return Report(
        artcheck_version=__version__,
        shop=setting.shop.name,
        demo_prices=setting.shop.demo,
        artwork=_artwork(measured),
        garment=_garment(setting),
        background=measured.background,
        printed=_printed(sized),
        inks=_inks(measured, inks),
        tone=_tone(sized),
        groups=tuple(_group(group, sized) for group in measured.groups),
        detail=_detail(sized, setting.shop.limits),
        resolution=_resolution(sized, setting.shop.limits),
        edges=EdgesReport(
            soft_share=measured.edges.soft_share,
            soft_width_pt=sized.pt(measured.edges.soft_width_px),
        ),
        contrast=case.contrast,
        brand_colours=setting.brands,
        methods=methods,
        recommendation=answer,
        ink_ladder=ladder,
        questions=tuple(questions(setting)),
        messages=tuple(_messages(methods, answer)),
    )


def _artwork(measured: Measurements) -> ArtworkReport:
    return ArtworkReport(
        file=measured.file,
        kind=measured.kind,
        pixels=measured.pixels,
        has_alpha=measured.has_alpha,
        profile=measured.profile,
        declared_inks=tuple(ink.name for ink in measured.declared_inks),
    )


def _garment(setting: Setting) -> GarmentReport:
    garment, look = setting.order.garment, setting.garment
    return GarmentReport(
        kind=garment.kind,
        colour=look.name if look else None,
        hex=lab_to_hex(look.lab) if look else None,
        fabric=garment.fabric,
        pieces=garment.pieces,
        placement=setting.print_.placement,
    )


def _printed(sized: Sized) -> PrintedReport:
    return PrintedReport(
        width_in=sized.width_in,
        height_in=sized.height_in,
        box_area_in2=sized.box_area_in2,
        ink_area_in2=sized.ink_area_in2,
        coverage=sized.measured.area.coverage,
    )


def _inks(measured: Measurements, inks: tuple[InkReport, ...]) -> InksReport:
    found = measured.inks
    return InksReport(
        count=found.count,
        count_without_white=found.count_without_white,
        also_plausible=tuple(reading.count for reading in found.also_plausible),
        readings=tuple(CountReading(count=r.count, why=r.why) for r in found.also_plausible),
        list=inks,
    )


def _tone(sized: Sized) -> ToneReport:
    tone = sized.measured.tone
    screens = None
    if tone.halftone is not None:
        screens = tuple(
            HalftoneReport(
                ink=screen.ink_hex, lpi=sized.ppi / screen.period_px, angle_deg=screen.angle_deg
            )
            for screen in tone.halftone
        )
    return ToneReport.model_validate(
        {
            "class": tone.kind,
            "gradient_share": tone.gradient_share,
            "photo_share": tone.photo_share,
            "halftone": screens,
        }
    )


def _group(group: GroupMeasured, sized: Sized) -> GroupReport:
    has_pixels = sized.effective_dpi is not None
    scale = group.true_scale if has_pixels else None
    return GroupReport(
        where=group.where,
        inks=group.inks,
        true_dpi=None if scale is None else sized.ppi * scale,
        effective_dpi=sized.effective_dpi,
        thinnest_line_pt=sized.optional_pt(group.thinnest_line_px),
        narrowest_gap_pt=sized.optional_pt(group.narrowest_gap_px),
    )


def _detail(sized: Sized, limits: Limits) -> DetailReport:
    detail = sized.measured.detail
    return DetailReport(
        thinnest_line_pt=sized.optional_pt(detail.thinnest_line_px),
        narrowest_gap_pt=sized.optional_pt(detail.narrowest_gap_px),
        specks=len(speck_places(sized, limits)),
        smallest_letters_pt=_smallest([r for r in detail.letters if not r.reversed], sized),
        smallest_reversed_letters_pt=_smallest([r for r in detail.letters if r.reversed], sized),
    )


def _smallest(rows: Sequence[LetterRow], sized: Sized) -> float | None:
    return min((type_size_pt(row.height_px, sized) for row in rows), default=None)


def _resolution(sized: Sized, limits: Limits) -> ResolutionReport | None:
    effective, true, widest = sized.effective_dpi, sized.true_dpi, largest_width_in(sized, limits)
    if effective is None or true is None or widest is None:
        return None
    return ResolutionReport(effective_dpi=effective, true_dpi=true, largest_width_in=widest)


# --- words to send ------------------------------------------------------------------------------


def questions(setting: Setting) -> Iterator[str]:
    """Facts that the order lacks, each as a line ready to send."""
    order, print_ = setting.order, setting.print_
    garment = order.garment
    if order.pieces is None:
        yield "How many pieces do you need, and in which sizes?"
    if print_.width_in is None and print_.height_in is None:
        width = round(setting.sized.width_in, 2)
        yield f"How wide should the print be? We have reckoned with {width:g} in."
    if garment.colour is None:
        yield "Which colour are the garments?"
    if garment.fabric is None and setting.fabric is None:
        yield "What are the garments made of? The care label says it."
    elif garment.fabric is not None and setting.fabric is None:
        yield f"What is '{garment.fabric}' made of (cotton, polyester ...)? Heat decides."
    if garment.kind is None:
        yield "Which garments are they (tee, hoodie, tote), and who supplies them?"
    if garment.children is None:
        yield "Are any of the garments for children of 12 or under?"
    yield from _art_questions(setting.sized.measured)


def _art_questions(measured: Measurements) -> Iterator[str]:
    ids = {note.id for note in measured.notes}
    if "missing-font" in ids:
        yield "Please send the art with its text converted to outlines, or send the fonts."
    if "enclosed-paper" in ids:
        yield "Are the white areas inside the art printed white, or does the garment show there?"
    yield "Please confirm that you may use this art."


def _messages(methods: Sequence[MethodReport], answer: Recommendation) -> list[str]:
    """What the customer must know of the recommended method, or of all when none suits."""
    findings: list[Finding] = [
        finding
        for method in methods
        if answer.method is None or method.id == answer.method
        for finding in method.findings
    ]
    return list(dict.fromkeys(f.message for f in findings if f.message))
