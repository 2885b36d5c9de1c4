"""Places behind findings, and their outlines."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from artcheck.domain.base import Box
from artcheck.domain.check import MethodReport, Report
from artcheck.domain.findings import Finding
from artcheck.domain.measurements import (
    AreaMeasured,
    DetailMeasured,
    EdgesMeasured,
    GroupMeasured,
    InksMeasured,
    Measurements,
    SmallPart,
    ThinPlace,
    ToneMeasured,
)
from artcheck.report.overlays import SMALLEST_SIDE_PX, Mark, marks_of, overlay
from artcheck.report.pictures import Picture
from tests.report import factory

PPI = 300
"""The bakery's art: 1275 px for 4.25 in, so that 1 pt is 300 / 72 = 4.17 px."""


def measured(**detail: object) -> Measurements:
    report = factory.bakery()
    return Measurements(
        file="a.png",
        digest="0" * 64,
        kind="raster",
        pixels=(1275, 1200),
        has_alpha=True,
        profile=None,
        resolution_ppi=None,
        declared_inks=(),
        vector=None,
        background=report.background,
        notes=(),
        area=AreaMeasured(box=(0, 0, 1200, 1275), ink_px=1.0, coverage=0.1),
        inks=InksMeasured(count=1, count_without_white=1),
        tone=ToneMeasured(kind="flat", gradient_share=0.2, photo_share=0.0, fade_places=(box(9),)),
        detail=DetailMeasured.model_validate(detail),
        sharpness=None,
        edges=EdgesMeasured(soft_share=0.5, soft_width_px=9, places=(box(8),)),
    )


def box(n: int) -> Box:
    return 10 * n, 10 * n, 10 * n + 5, 10 * n + 5


def lines(*widths_pt: float) -> tuple[ThinPlace, ...]:
    return tuple(ThinPlace(width_px=w * PPI / 72, where=box(n)) for n, w in enumerate(widths_pt))


def with_findings(*findings: Finding) -> Report:
    calm = factory.bakery()
    method: MethodReport = factory.method(factory.AREA, findings)
    return calm.model_copy(update={"methods": (method, factory.method(factory.SPOT))})


def thin(limit: float) -> Finding:
    return factory.finding("line-thin", "change", "thin", measured=0.5, limit=limit, unit="pt")


def test_every_line_under_the_limit_is_marked_and_no_other() -> None:
    marks = marks_of(measured(lines=lines(0.5, 0.9, 1.1)), with_findings(thin(1.0)))
    assert marks == (Mark("thin line", box(0)), Mark("thin line", box(1)))


def test_nothing_is_marked_that_no_finding_names() -> None:
    given = measured(lines=lines(0.5), gaps=lines(0.5))
    assert marks_of(given, with_findings()) == ()


def test_findings_on_other_methods_mark_nothing() -> None:
    report = with_findings()
    other = factory.method(factory.SPOT, (thin(1.0),))
    report = report.model_copy(update={"methods": (report.methods[0], other)})
    assert marks_of(measured(lines=lines(0.5)), report) == ()


def test_without_an_answer_every_method_counts() -> None:
    report = with_findings(thin(1.0))
    answer = report.recommendation.model_copy(update={"method": None})
    report = report.model_copy(update={"recommendation": answer})
    assert len(marks_of(measured(lines=lines(0.5, 0.7)), report)) == 2


def test_specks_fades_and_soft_rims() -> None:
    specks = tuple(SmallPart(size_px=s * PPI / 72, where=box(n)) for n, s in enumerate((1, 2)))
    report = with_findings(
        factory.finding("specks", "change", "dots", measured=1.0, limit=1.5, unit="pt"),
        factory.finding("fade-on-spot", "change", "fade", measured=0.2, limit=0.01),
        factory.finding("soft-edges", "change", "soft"),
    )
    marks = marks_of(measured(small_parts=specks), report)
    assert marks == (Mark("speck", box(0)), Mark("fade", box(9)), Mark("soft rim", box(8)))


def test_separate_designs_are_always_marked() -> None:
    group = GroupMeasured(
        where=box(3), inks=1, true_scale=1.0, thinnest_line_px=None, narrowest_gap_px=None
    )
    given = measured().model_copy(update={"groups": (group,)})
    assert marks_of(given, with_findings()) == (Mark("design", box(3)),)


# --- the outlines -------------------------------------------------------------------------------


def drawn(*where: Box, frame: Box = (0, 0, 200, 400)) -> NDArray[np.uint8]:
    picture = Picture(b"", "image/png", 800, 400, frame)
    marks = [Mark("thin line", box) for box in where]
    decoded = cv2.imdecode(np.frombuffer(overlay(picture, marks), np.uint8), cv2.IMREAD_UNCHANGED)
    assert decoded is not None
    return np.asarray(decoded, np.uint8)


def test_overlay_is_as_large_as_the_picture_and_clear_outside_marks() -> None:
    shown = drawn((50, 100, 100, 200))
    assert shown.shape == (400, 800, 4)
    rows, cols = np.nonzero(shown[..., 3])
    assert (rows.min(), rows.max()) == pytest.approx((100, 200), abs=4)
    assert (cols.min(), cols.max()) == pytest.approx((200, 400), abs=4)
    assert shown[150, 300, 3] == 0  # the art inside stays to be seen


def test_outline_holds_dark_and_light_so_that_it_shows_on_any_art() -> None:
    shown = drawn((50, 100, 100, 200))
    inked = shown[shown[..., 3] == 255]
    assert set(np.unique(inked[:, 0])) == {0, 255}


def test_small_mark_is_drawn_large_enough_to_be_found() -> None:
    rows, cols = np.nonzero(drawn((50, 100, 51, 101))[..., 3])
    assert rows.max() - rows.min() >= SMALLEST_SIDE_PX
    assert cols.max() - cols.min() >= SMALLEST_SIDE_PX


def test_mark_outside_the_frame_is_left_out() -> None:
    assert drawn((500, 500, 510, 510)).max() == 0
    assert drawn().max() == 0


def test_two_overlays_are_the_same_bytes() -> None:
    picture = Picture(b"", "image/png", 80, 40, (0, 0, 40, 80))
    marks = [Mark("speck", (5, 5, 9, 9))]
    assert overlay(picture, marks) == overlay(picture, marks)
