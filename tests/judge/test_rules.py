"""Each rule against literals at its limit; limits are common practice unless a source is named."""

from __future__ import annotations

import pytest

from artcheck.domain.artwork import ReadingNote
from artcheck.domain.check import ContrastReport
from artcheck.domain.findings import Finding, verdict_of
from artcheck.domain.measurements import (
    AreaMeasured,
    DetailMeasured,
    EdgesMeasured,
    LetterRow,
    SharpnessMeasured,
    SmallPart,
    ThinPlace,
    ToneMeasured,
)
from artcheck.domain.shop import Method
from artcheck.judge import Case, Cloth, judge_method
from artcheck.judge.cautions import DEFERENCE, cautions
from tests.judge.cases import CUT, FILM, SHOP, SPOT, case

BOX = (0, 0, 10, 10)


def found(checked: Case, method: Method) -> dict[str, Finding]:
    return {f.id: f for f in judge_method(checked, method, SHOP.prices, SHOP.currency)}


def line(points: float) -> DetailMeasured:
    px = points / 72 * 300
    thin = (ThinPlace(width_px=px, where=BOX),)
    return DetailMeasured(thinnest_line_px=px, lines=thin, open_lines=thin)


def test_a_film_holds_what_lies_inside_it() -> None:
    """A thin line or gap between two inks is one film; on plates of their own it is what it is."""
    px = 0.3 / 72 * 300
    thin = (ThinPlace(width_px=px, where=BOX),)
    wide = (ThinPlace(width_px=20 * px, where=BOX),)
    inner = DetailMeasured(
        thinnest_line_px=px,
        narrowest_gap_px=px,
        lines=thin,
        gaps=thin,
        open_lines=wide,
        open_gaps=wide,
    )
    assert {"line-thin", "gap-narrow"} <= set(found(case(detail=inner), SPOT))
    assert not {"line-thin", "line-test-first", "gap-narrow"} & set(found(case(detail=inner), FILM))


def test_nothing_wrong_suits() -> None:
    for method in (SPOT, FILM, CUT):
        assert judge_method(case(), method, SHOP.prices, SHOP.currency) == ()
    assert verdict_of(()) == "suits"


@pytest.mark.parametrize(
    ("width", "severity"), [(10.0, None), (10.1, "change"), (19.9, "change"), (20.1, "stop")]
)
def test_resolution_of_edges(width: float, severity: str | None) -> None:
    finding = found(case(width), FILM).get("resolution-low")
    assert (finding.severity if finding else None) == severity
    if finding:
        assert "common practice" in finding.evidence.limit_source
        assert "10.0 in" in finding.text


def test_photographs_forgive_more() -> None:
    photo = ToneMeasured(kind="photo", gradient_share=0, photo_share=0.8)
    assert "resolution-low" not in found(case(15, tone=photo, ink_count=None), FILM)
    assert found(case(16, tone=photo, ink_count=None), FILM)["resolution-low"].severity == "change"


def test_enlarged_art_is_judged_by_its_real_resolution() -> None:
    soft = SharpnessMeasured(true_scale=1 / 3, method="interpolation traces")
    findings = found(case(10, sharpness=soft), FILM)
    assert findings["resolution-low"].severity == "stop"
    assert findings["resolution-low"].evidence.measured == pytest.approx(100)
    assert "3.0 times" in findings["art-enlarged"].text


@pytest.mark.parametrize(
    ("points", "method", "severity"),
    [
        (1.01, SPOT, None),
        (0.9, SPOT, "change"),
        (0.4, SPOT, "stop"),
        (0.7, FILM, "stop"),
        (0.9, FILM, "change"),
        (5.8, CUT, None),
        (4.2, CUT, "stop"),
    ],
)
def test_lines(points: float, method: Method, severity: str | None) -> None:
    finding = found(case(detail=line(points)), method).get("line-thin")
    assert (finding.severity if finding else None) == severity


def test_film_lines_between_the_stated_limits_are_tested_first() -> None:
    assert found(case(detail=line(2)), FILM)["line-test-first"].severity == "note"
    assert "line-test-first" not in found(case(detail=line(4.3)), FILM)
    assert "line-test-first" not in found(case(detail=line(2)), SPOT)


def test_a_knife_cannot_cut_around_a_thin_line() -> None:
    assert verdict_of(tuple(found(case(detail=line(2)), CUT).values())) == "unsuitable"
    assert verdict_of(tuple(found(case(detail=line(0.4)), SPOT).values())) == "suits_with_changes"


def test_gap_letters_and_specks() -> None:
    px = 300 / 72
    detail = DetailMeasured(
        narrowest_gap_px=1.5 * px,
        gaps=(ThinPlace(width_px=1.5 * px, where=BOX),),
        letters=(
            LetterRow(height_px=0.7 * 6 * px, where=BOX),
            LetterRow(height_px=0.7 * 10 * px, where=BOX, reversed=True),
        ),
        small_parts=(SmallPart(size_px=1.0 * px, where=BOX), SmallPart(size_px=2 * px, where=BOX)),
    )
    findings = found(case(detail=detail), SPOT)
    assert findings["gap-narrow"].severity == "change"
    assert findings["letters-small"].evidence.measured == pytest.approx(6, rel=1e-6)
    assert findings["letters-reversed-small"].severity == "change"
    assert findings["specks"].evidence.measured == pytest.approx(1.0)
    assert "10.00 USD" in (findings["specks"].change or "")


def test_fades_and_photographs_on_spot_methods() -> None:
    fade = ToneMeasured(kind="gradient", gradient_share=0.3, photo_share=0)
    assert found(case(tone=fade), SPOT)["fade-on-spot"].severity == "change"
    assert "45 lpi" in (found(case(tone=fade), SPOT)["fade-on-spot"].change or "")
    assert "fade-on-spot" not in found(case(tone=fade), FILM)
    photo = ToneMeasured(kind="photo", gradient_share=0, photo_share=0.9)
    finding = found(case(tone=photo, ink_count=None), SPOT)["photo-on-spot"]
    assert (finding.severity, finding.curable) == ("stop", False)


@pytest.mark.parametrize(("width_px", "there"), [(1.0, False), (2.0, False), (5.0, True)])
def test_soft_rims_on_film(width_px: float, there: bool) -> None:
    edges = EdgesMeasured(soft_share=0.4, soft_width_px=width_px)
    assert ("soft-edges" in found(case(edges=edges), FILM)) == there
    assert "soft-edges" not in found(case(edges=edges), SPOT)


def test_large_solids_are_stiff_on_film() -> None:
    area = AreaMeasured(
        box=(0, 0, 1500, 3000), ink_px=4e6, coverage=0.9, largest_solid_px=41 * 300**2
    )
    assert "solid-large" in found(case(area=area), FILM)
    assert "solid-large" not in found(case(area=area), SPOT)


def test_too_many_inks() -> None:
    assert "inks-too-many" not in found(case(ink_count=4), SPOT)
    finding = found(case(ink_count=5), SPOT)["inks-too-many"]
    assert (finding.severity, finding.curable) == ("stop", False)
    assert "inks-too-many" in found(case(ink_count=2), CUT)
    assert "inks-too-many" not in found(case(ink_count=50), FILM)


def test_each_different() -> None:
    assert found(case(each_different=True), SPOT)["each-different"].severity == "stop"
    assert "each-different" not in found(case(each_different=True), FILM)


def fabric(name: str, **more: object) -> Cloth:
    return Cloth(fabric=SHOP.fabric(name), **more)  # type: ignore[arg-type]


def test_polypropylene_is_refused_by_every_method() -> None:
    """Melting 170 C: Hilado, Flammability Handbook for Plastics, 5th ed. 1998."""
    for method in (SPOT, FILM, CUT):
        finding = found(case(cloth=fabric("spunbond")), method)["fabric-refused"]
        assert (finding.severity, finding.curable) == ("stop", False)


def test_polyester_and_heat() -> None:
    red = fabric("polyester", colour_name="red", colour=(42.0, 58.0, 36.0))
    assert "fabric-too-hot" in found(case(cloth=red), SPOT)
    dye = found(case(cloth=red), FILM)["dye-migration"]
    assert "pink on red" in dye.text
    white = fabric("polyester", colour_name="white", colour=(95.0, 0.0, -2.0))
    assert "watch for" in found(case(cloth=white), FILM)["dye-migration"].text
    assert "dye-migration" not in found(case(cloth=fabric("cotton")), FILM)


@pytest.mark.parametrize(("dots", "there"), [(1, True), (2, True), (3, False)])
def test_ironing_symbol(dots: int, there: bool) -> None:
    """ISO 3758:2012: one dot 110 C, two 150 C, three 200 C; film presses at 305 F (152 C)."""
    assert ("care-label-exceeded" in found(case(cloth=Cloth(care_dots=dots)), FILM)) == there


def test_do_not_iron() -> None:
    assert found(case(cloth=Cloth(care_dots=0)), FILM)["care-label-no-iron"].severity == "stop"


def contrast(delta_l: float, verdict: str) -> ContrastReport:
    return ContrastReport.model_validate(
        {
            "ink": "Pewter",
            "garment": "grey",
            "delta_l": delta_l,
            "contrast_ratio": 1.4,
            "delta_e_2000": 9.0,
            "verdict": verdict,
        }
    )


def test_contrast_weak_is_a_change() -> None:
    assert found(case(contrast=(contrast(30, "weak"),)), SPOT)["contrast-weak"].severity == "change"


def test_an_ink_near_the_garments_colour_may_be_left_open() -> None:
    near = contrast(3, "unreadable")
    far = near.model_copy(update={"delta_e_2000": 40.0})
    said = [
        found(case(contrast=(shown,)), SPOT)["contrast-unreadable"].change or ""
        for shown in (near, far)
    ]
    assert said[0].startswith("leave Pewter open so that the grey garment shows (9 dE00 apart), or")
    assert said[1].startswith("choose an ink")


def test_white_shapes_read_as_open_matter_on_dark_cloth_alone() -> None:
    notes = (ReadingNote(id="enclosed-paper", text="Open?"),)
    severities = []
    for name, lightness in (("white", 96.0), ("navy", 17.0)):
        cloth = Cloth(colour_name=name, colour=(lightness, 0.0, 0.0))
        severities.append(found(case(cloth=cloth, notes=notes), SPOT)["enclosed-paper"])
    white, navy = severities
    assert (white.severity, white.message) == ("note", None)
    assert navy.severity == "change"
    assert "navy" in (navy.message or "")


def test_placement_and_platen() -> None:
    chest = next(p for p in SHOP.placements if p.name == "left chest")
    assert "placement-wide" in found(case(4.25, placement=chest), FILM)
    assert "placement-wide" not in found(case(4.0, placement=chest), FILM)
    assert "print-over-platen" in found(case(21.0), FILM)


def test_cautions_always_hold_the_four_and_the_deference() -> None:
    told = cautions(FILM, Cloth(), SHOP.equipment, ())
    for words in ("burn", "fingers", "safety data sheet", "extension cords"):
        assert any(words in line for line in told)
    assert told[-1] == DEFERENCE
    assert any("1,920 W" in line for line in told)  # NEC 210.19(A)(1): 80 % of 20 A at 120 V
    weak = SHOP.equipment.model_copy(update={"circuit_amps": 15.0})
    assert any("MORE THAN the 1,440 W" in line for line in cautions(FILM, Cloth(), weak, ()))


def test_children_and_dye_reach_the_press_sheet() -> None:
    cloth = fabric("polyester", colour_name="red", colour=(42.0, 58.0, 36.0), children=True)
    findings = judge_method(case(cloth=cloth), FILM, SHOP.prices, SHOP.currency)
    told = " ".join(cautions(FILM, cloth, SHOP.equipment, findings))
    assert "100 ppm" in told
    assert "wait a day" in told
