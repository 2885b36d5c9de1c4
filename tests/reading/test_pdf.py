"""PDF: one page by itself, cut at its trim box, its inks through the press it is meant for."""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from artcheck import errors
from artcheck.colour.difference import delta_e_2000
from artcheck.colour.spaces import srgb8_to_lab
from artcheck.domain.artwork import Artwork
from artcheck.reading import read
from artcheck.reading.press import cmyk_to_srgb
from fixtures import make_odd_files as odd
from fixtures import odd_writers as write

SOLID = b"0.8 0.1255 0.1725 rg 0 0 300 300 re f"


def document(content: bytes = SOLID, size: tuple[float, float] = (200, 100)) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(write.pdf([content], size)))


def saved(pdf: pikepdf.Pdf, folder: Path, **options: Any) -> Path:
    path = folder / "a.pdf"
    pdf.save(path, deterministic_id="encryption" not in options, **options)
    return path


def size_in(art: Artwork) -> tuple[float, float]:
    assert art.vector is not None
    return art.vector.width_in, art.vector.height_in


def near(art: Artwork, row: float, col: float, colour: tuple[int, ...], within: int = 2) -> bool:
    at = int(row * art.rgb.shape[0]), int(col * art.rgb.shape[1])
    apart = np.abs(art.rgb[at].astype(int) - colour).max()
    return bool(apart <= within and (art.alpha is None or art.alpha[at] == 255))


def printed(art: Artwork, row: float, col: float, colour: tuple[int, ...]) -> bool:
    """A colour that went through a press profile: the renderer maps the profile's black to black,
    which darkens saturated inks by up to 3 CIEDE2000."""
    at = int(row * art.rgb.shape[0]), int(col * art.rgb.shape[1])
    lab = srgb8_to_lab(np.array([art.rgb[at], colour], np.uint8))
    return float(delta_e_2000(lab[0], lab[1])) <= 3.0


# --- boxes (ISO 32000-1, 14.11.2) ---------------------------------------------------------------

BOXES = [
    ({}, (200, 100)),
    ({"CropBox": [10, 10, 110, 60]}, (100, 50)),
    ({"TrimBox": [20, 20, 80, 80]}, (60, 60)),
    ({"CropBox": [10, 10, 190, 90], "TrimBox": [20, 20, 80, 80]}, (60, 60)),
    ({"BleedBox": [1, 1, 199, 99], "ArtBox": [50, 50, 60, 60]}, (200, 100)),
    ({"TrimBox": [-50, -50, 100, 100]}, (100, 100)),
    ({"TrimBox": [80, 80, 20, 20]}, (60, 60)),
    ({"TrimBox": [30, 30, 30, 90]}, (200, 100)),
    ({"TrimBox": [500, 500, 600, 600], "CropBox": [0, 0, 50, 50]}, (50, 50)),
]


@pytest.mark.parametrize(("boxes", "size_pt"), BOXES)
def test_page_is_cut_at_its_trim_box(
    boxes: dict[str, list[float]], size_pt: tuple[float, float], tmp_path: Path
) -> None:
    pdf = document()
    for name, box in boxes.items():
        pdf.pages[0].obj[f"/{name}"] = Array(box)
    art = read(saved(pdf, tmp_path), background="keep")
    assert size_in(art) == pytest.approx((size_pt[0] / 72, size_pt[1] / 72))
    width, height = art.source_size
    assert width / height == pytest.approx(size_pt[0] / size_pt[1], rel=2e-3)


def test_trimmed_page_shows_what_lies_in_the_box(tmp_path: Path) -> None:
    pdf = document(b"1 0 0 rg 0 0 100 100 re f 0 0 1 rg 100 0 100 100 re f")
    pdf.pages[0].TrimBox = [80, 40, 120, 60]
    art = read(saved(pdf, tmp_path), background="keep")
    assert near(art, 0.5, 0.25, (255, 0, 0))
    assert near(art, 0.5, 0.75, (0, 0, 255))


def test_inherited_boxes_turned_pages_and_large_units(tmp_path: Path) -> None:
    """Rotate (7.7.3.3) turns clockwise; UserUnit is in 1/72 in."""
    pdf = document(b"1 0 0 rg 0 50 200 50 re f")
    page = pdf.pages[0].obj
    pdf.Root.Pages.MediaBox = page.MediaBox
    del page["/MediaBox"]
    page.Rotate, page.UserUnit = 90, 3
    art = read(saved(pdf, tmp_path))
    assert size_in(art) == pytest.approx((300 / 72, 600 / 72))
    assert near(art, 0.5, 0.9, (255, 0, 0))  # the upper half is now on the right
    assert art.alpha is not None
    assert art.alpha[art.alpha.shape[0] // 2, 10] == 0
    assert art.resolution_ppi == pytest.approx(art.source_size[0] / (300 / 72), rel=1e-3)


# --- one page alone -----------------------------------------------------------------------------


def two_pages() -> bytes:
    pdf = pikepdf.open(io.BytesIO(write.pdf([SOLID, b"0 0 1 rg 0 0 99 99 re f"], (200, 100))))
    out = io.BytesIO()
    pdf.save(
        out,
        object_stream_mode=pikepdf.ObjectStreamMode.disable,
        stream_decode_level=pikepdf.StreamDecodeLevel.generalized,
        compress_streams=False,
        deterministic_id=True,
    )
    return out.getvalue()


def broken_object(data: bytes) -> bytes:
    second = re.search(rb"/Kids \[ \d+ 0 R (\d+) 0 R", data)
    assert second
    at = data.index(b"\n%s 0 obj" % second[1]) + 8
    return data[:at] + b"\n<< /Type /Pa((((" + data[at + 17 :]


def dangling(data: bytes) -> bytes:
    second = re.search(rb"/Kids \[ \d+ 0 R (\d+) 0 R", data)
    assert second
    return data.replace(b" %s 0 R ]" % second[1], b" 99 0 R ]")


def garbage_content(data: bytes) -> bytes:
    return data.replace(b"0 0 1 rg 0 0 99 99 re f", b"(((( << [ q Q q Q BT ET")


@pytest.mark.parametrize("spoil", [broken_object, dangling, garbage_content])
def test_broken_second_page_does_not_spoil_the_first(
    spoil: Any, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    data = spoil(two_pages())
    assert data != two_pages()
    path = tmp_path / "a.pdf"
    path.write_bytes(data)
    art = read(path, background="keep")
    assert near(art, 0.5, 0.5, odd.RED)
    assert {note.id for note in art.notes} <= {"several-pages"}
    assert capfd.readouterr() == ("", "")


def test_second_page_of_a_file_whose_first_is_broken(tmp_path: Path) -> None:
    pdf = pikepdf.open(io.BytesIO(two_pages()))
    pdf.pages[0].Contents = pdf.make_stream(b"/Gone Do ((((")
    art = read(saved(pdf, tmp_path), page=1)
    assert near(art, 0.9, 0.1, (0, 0, 255))


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9, 0.99])
def test_broken_off(share: float, tmp_path: Path) -> None:
    data = two_pages()
    path = tmp_path / "a.pdf"
    path.write_bytes(data[: int(len(data) * share)])
    with pytest.raises(errors.DamagedArtError, match="breaks off") as told:
        read(path)
    assert "\n" not in str(told.value)


def test_hidden_layers_stay_hidden(tmp_path: Path) -> None:
    """Optional content (8.11): groups that the default configuration turns off."""
    pdf = document(b"/OC /Hide BDC " + SOLID + b" EMC 0 0 1 rg 0 0 20 20 re f")
    group = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Notes for the printer"))
    pdf.Root.OCProperties = Dictionary(OCGs=[group], D=Dictionary(OFF=[group]))
    pdf.pages[0].Resources = Dictionary(Properties=Dictionary(Hide=group))
    art = read(saved(pdf, tmp_path))
    assert near(art, 0.95, 0.05, (0, 0, 255))
    assert art.alpha is not None
    assert art.alpha[10, 10] == 0


def test_remarks_are_no_art(tmp_path: Path) -> None:
    pdf = document(b"0 0 1 rg 0 0 20 20 re f")
    look = pdf.make_stream(b"1 1 0 rg 0 0 50 50 re f")
    look.Subtype, look.BBox = Name.Form, Array([0, 0, 50, 50])
    note = Dictionary(
        Type=Name.Annot, Subtype=Name.Text, Rect=[100, 40, 150, 90], AP=Dictionary(N=look), F=4
    )
    pdf.pages[0].Annots = Array([pdf.make_indirect(note)])
    art = read(saved(pdf, tmp_path))
    assert art.alpha is not None
    assert art.alpha[: art.alpha.shape[0] // 2].max() == 0


# --- inks ---------------------------------------------------------------------------------------

RED_INKS = (0, 255, 255, 0)


def with_intent(pdf: pikepdf.Pdf, profile: bytes) -> None:
    stream = pdf.make_stream(profile)
    stream.N = 4
    intent = Dictionary(
        Type=Name.OutputIntent,
        S=Name.GTS_PDFX,
        OutputConditionIdentifier="Custom",
        DestOutputProfile=stream,
    )
    pdf.Root.OutputIntents = Array([intent])


CMYK_ART = {
    "fill": b"1 0 0 0 k 0 0 200 100 re f",
    "stroke": b"1 0 0 0 K 300 w 0 0 m 200 100 l S",
    "space": b"/DeviceCMYK cs 1 0 0 0 sc 0 0 200 100 re f",
}


@pytest.mark.parametrize("how", CMYK_ART)
def test_output_intent_is_honoured(how: str, tmp_path: Path) -> None:
    """Ink 1 of the profile is the drawing's red; shown without the profile it is cyan."""
    pdf = document(CMYK_ART[how])
    with_intent(pdf, odd.turned_cmyk())
    art = read(saved(pdf, tmp_path), background="keep")
    assert printed(art, 0.5, 0.5, odd.RED)
    assert art.profile == "Turned inks"
    assert art.notes == ()


def test_output_intent_reaches_forms_pictures_and_spot_inks(tmp_path: Path) -> None:
    pdf = document(b"/Fm Do /S cs 1 scn 50 0 50 100 re f q 50 0 0 100 100 0 cm /Im Do Q")
    form = pdf.make_stream(b"1 0 0 0 k 0 0 50 100 re f")
    form.Subtype, form.BBox, form.Resources = Name.Form, Array([0, 0, 50, 100]), Dictionary()
    image = pdf.make_stream(bytes([0, 255, 0, 0]) * 4)
    image.Subtype, image.ColorSpace = Name.Image, Name.DeviceCMYK
    image.Width = image.Height = 2
    image.BitsPerComponent = 8
    tint = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[0, 0, 1, 0])
    spot = Array([Name.Separation, Name.Moss, Name.DeviceCMYK, tint])
    pdf.pages[0].Resources = Dictionary(
        XObject=Dictionary(Fm=form, Im=image), ColorSpace=Dictionary(S=spot)
    )
    with_intent(pdf, odd.turned_cmyk())
    art = read(saved(pdf, tmp_path), background="keep")
    assert printed(art, 0.5, 0.1, odd.RED)
    assert printed(art, 0.5, 0.37, odd.GREEN)
    assert printed(art, 0.5, 0.62, odd.BLUE)
    assert [ink.name for ink in art.declared_inks] == ["Moss"]


def test_a_form_that_bears_a_colour_spaces_name_is_a_form(tmp_path: Path) -> None:
    pdf = document(b"/DeviceCMYK Do")
    form = pdf.make_stream(SOLID, Subtype=Name.Form, BBox=Array([0, 0, 200, 100]))
    pdf.pages[0].Resources = Dictionary(XObject=Dictionary(DeviceCMYK=form))
    art = read(saved(pdf, tmp_path), background="keep")
    assert near(art, 0.5, 0.5, odd.RED)
    assert art.notes == ()


INK = b"1 0 0 0 k 0 0 200 100 re f"


def in_tile(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Resources = Dictionary(Pattern=Dictionary(X=tile(pdf, INK, Dictionary())))


def in_tile_without_resources(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Resources = Dictionary(Pattern=Dictionary(X=tile(pdf, INK)))


def in_tile_within_tile(pdf: pikepdf.Pdf) -> None:
    inner = Dictionary(Pattern=Dictionary(X=tile(pdf, INK)))
    outer = tile(pdf, b"/Pattern cs /X scn 0 0 20 20 re f", inner)
    pdf.pages[0].Resources = Dictionary(Pattern=Dictionary(X=outer))


def in_form_that_borrows(pdf: pikepdf.Pdf) -> None:
    """The second form has no resources; the first has some, but names no forms."""
    form = {"Subtype": Name.Form, "BBox": Array([0, 0, 200, 100])}
    second = pdf.make_stream(INK, **form)
    first = pdf.make_stream(b"/Y Do", Resources=Dictionary(Font=Dictionary()), **form)
    pdf.pages[0].Resources = Dictionary(XObject=Dictionary(X=first, Y=second))


def in_glyph(pdf: pikepdf.Pdf) -> None:
    font = Dictionary(Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 200, 100])
    font.FontMatrix, font.Widths, font.FirstChar, font.LastChar = [1, 0, 0, 1, 0, 0], [200], 97, 97
    font.Encoding = Dictionary(Differences=[97, Name.a])
    font.CharProcs = Dictionary(a=pdf.make_stream(b"200 0 d0 " + INK))
    pdf.pages[0].Resources = Dictionary(Font=Dictionary(X=font))


def in_remark(pdf: pikepdf.Pdf) -> None:
    look = pdf.make_stream(INK, Subtype=Name.Form, BBox=Array([0, 0, 200, 100]))
    stamp = Dictionary(Type=Name.Annot, Subtype=Name.Stamp, Rect=[0, 0, 200, 100], F=4)
    stamp.AP = Dictionary(N=look)
    pdf.pages[0].Annots = Array([stamp])


def tile(pdf: pikepdf.Pdf, content: bytes, resources: Dictionary | None = None) -> pikepdf.Stream:
    made = pdf.make_stream(content, PatternType=1, PaintType=1, TilingType=1)
    made.BBox, made.XStep, made.YStep = Array([0, 0, 20, 20]), 20, 20
    if resources is not None:
        made.Resources = resources
    return made


WITHIN: dict[Callable[[pikepdf.Pdf], None], bytes] = {
    in_tile: b"/Pattern cs /X scn 0 0 200 100 re f",
    in_tile_without_resources: b"/Pattern cs /X scn 0 0 200 100 re f",
    in_tile_within_tile: b"/Pattern cs /X scn 0 0 200 100 re f",
    in_form_that_borrows: b"/X Do",
    in_glyph: b"BT /X 1 Tf (a) Tj ET",
    in_remark: b"",
}


@pytest.mark.parametrize("put", WITHIN, ids=lambda put: put.__name__)
def test_output_intent_reaches_all_that_is_run(
    put: Callable[[pikepdf.Pdf], None], tmp_path: Path
) -> None:
    pdf = document(WITHIN[put])
    put(pdf)
    with_intent(pdf, odd.turned_cmyk())
    art = read(saved(pdf, tmp_path), background="keep")
    assert printed(art, 0.45, 0.55, odd.RED)
    assert art.profile == "Turned inks"
    assert "parts-not-drawn" not in [note.id for note in art.notes]


def test_process_inks_without_intent_as_in_every_other_file(tmp_path: Path) -> None:
    art = read(saved(document(b"0 1 1 0 k 0 0 200 100 re f"), tmp_path), background="keep")
    wanted = cmyk_to_srgb(np.array([[RED_INKS]], np.uint8))[0, 0]
    assert printed(art, 0.5, 0.5, tuple(wanted.tolist()))
    assert [note.id for note in art.notes] == ["cmyk-without-profile"]


def test_broken_output_profile_is_told(tmp_path: Path) -> None:
    pdf = document(b"0 1 1 0 k 0 0 200 100 re f")
    with_intent(pdf, b"\x00" * 300)
    art = read(saved(pdf, tmp_path), background="keep")
    assert [note.id for note in art.notes] == ["cmyk-without-profile", "profile-unusable"]


def test_rgb_page_needs_no_word_about_inks(tmp_path: Path) -> None:
    pdf = document()
    with_intent(pdf, odd.turned_cmyk())
    art = read(saved(pdf, tmp_path), background="keep")
    assert art.notes == ()
    assert near(art, 0.5, 0.5, odd.RED)


def test_half_transparent_ink_is_straight(tmp_path: Path) -> None:
    pdf = document(b"/G gs 1 0 0 rg 0 0 100 100 re f")
    pdf.pages[0].Resources = Dictionary(ExtGState=Dictionary(G=Dictionary(ca=0.5)))
    art = read(saved(pdf, tmp_path))
    assert art.alpha is not None
    at = art.rgb.shape[0] // 2, 10
    assert tuple(art.rgb[at]) == (255, 0, 0)
    assert abs(int(art.alpha[at]) - 128) <= 1


def test_inks_of_palettes_shadings_and_device_n(tmp_path: Path) -> None:
    pdf = document(b"/N cs 1 0 scn 0 0 9 9 re f")
    tint = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[0, 0, 1, 0])
    two = Dictionary(FunctionType=2, Domain=[0, 1, 0, 1], N=1, C0=[0, 0, 0, 0], C1=[0, 0, 1, 0])
    spot = Array([Name.Separation, Name("/Sea Fog"), Name.DeviceCMYK, tint])
    palette = Array([Name.Indexed, spot, 1, pikepdf.String(b"\x00\xff")])
    device_n = Array([Name.DeviceN, Array([Name.Cyan, Name.Ember]), Name.DeviceCMYK, two])
    pdf.pages[0].Resources = Dictionary(ColorSpace=Dictionary(P=palette, N=device_n))
    art = read(saved(pdf, tmp_path), background="keep")
    assert sorted(ink.name for ink in art.declared_inks) == ["Ember", "Sea Fog"]


# --- what it is made of -------------------------------------------------------------------------


def test_picture_that_is_only_named_does_not_count(tmp_path: Path) -> None:
    pdf = pikepdf.open(io.BytesIO(write.pdf([SOLID], (200, 100), images={"Unused": odd._rgb()})))
    art = read(saved(pdf, tmp_path), background="keep")
    assert art.kind == "vector"


def test_picture_beside_shapes_is_a_document(tmp_path: Path) -> None:
    content = b"q 50 0 0 50 0 0 cm /Im Do Q 0 0 1 rg 100 0 50 50 re f"
    data = write.pdf([content], (200, 100), images={"Im": odd._rgb()})
    path = tmp_path / "a.pdf"
    path.write_bytes(data)
    art = read(path)
    assert art.kind == "document"
    assert art.vector is not None
    assert not art.vector.wraps_bitmap
    assert art.source_size[0] >= 960  # 240 px on a quarter of the page


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (SOLID + b" /Gone Do", "missing from the file"),
        (SOLID + b" q 50 0 0 50 0 0 cm /Bad Do Q", "damaged picture"),
    ],
)
def test_parts_that_cannot_be_drawn_are_told(content: bytes, words: str, tmp_path: Path) -> None:
    pdf = document(content)
    bad = pdf.make_stream(b"")
    bad.write(b"not packed at all", filter=Name.FlateDecode)
    bad.Subtype, bad.ColorSpace = Name.Image, Name.DeviceRGB
    bad.Width = bad.Height = 40
    bad.BitsPerComponent = 8
    pdf.pages[0].Resources = Dictionary(XObject=Dictionary(Bad=bad))
    art = read(saved(pdf, tmp_path), background="keep")
    assert near(art, 0.2, 0.8, odd.RED)
    assert [note.id for note in art.notes] == ["parts-not-drawn"]
    assert words in art.notes[0].text


LEFT, RIGHT = (
    b"0.8 0.1255 0.1725 rg 0 0 90 100 re f ",
    b" 0.1176 0.2353 0.7843 rg 110 0 90 100 re f ",
)


DAMAGES = {
    b"<< /a [ 1 ) >> ": "a damaged part",
    b"/\xff\xfe gs ": "a damaged part",
    b"] >> ": "",
    b"BI /W 9 ID xx EI 5 ( ) )": "",
}
"""And what is told of it: a stray mark costs nothing."""


@pytest.mark.parametrize("damage", DAMAGES)
def test_sound_parts_on_both_sides_of_damage_are_drawn(damage: bytes, tmp_path: Path) -> None:
    pdf = document(LEFT + damage + b" 0 g " + RIGHT)
    art = read(saved(pdf, tmp_path), background="keep")
    assert near(art, 0.5, 0.2, odd.RED)
    assert near(art, 0.5, 0.8, (30, 60, 200))
    assert DAMAGES[damage] in " ".join(note.text for note in art.notes)


def test_packed_content_that_breaks_off_is_drawn_as_far(tmp_path: Path) -> None:
    noise = np.random.default_rng(0).integers(0, 100, 4000).astype(str).tolist()
    packed = zlib.compress(LEFT + RIGHT + " ".join(noise).encode() + b" n " * 5)
    pdf = document()
    pdf.pages[0].Contents = pdf.make_stream(b"")
    pdf.pages[0].Contents.write(packed[:-800], filter=Name.FlateDecode)
    art = read(saved(pdf, tmp_path), background="keep")
    assert near(art, 0.5, 0.2, odd.RED)
    assert near(art, 0.5, 0.8, (30, 60, 200))


def test_form_that_draws_itself_ends(tmp_path: Path) -> None:
    pdf = document(SOLID + b" /Fm Do")
    form = pdf.make_indirect(pdf.make_stream(b"/Fm Do"))
    form.Subtype, form.BBox = Name.Form, Array([0, 0, 9, 9])
    form.Resources = Dictionary(XObject=Dictionary(Fm=form))
    pdf.pages[0].Resources = Dictionary(XObject=Dictionary(Fm=form))
    assert near(read(saved(pdf, tmp_path), background="keep"), 0.5, 0.5, odd.RED)


@pytest.mark.parametrize("box", [[0, 0, 20_000, 10], [0, 0, 0, 0]])
def test_pages_of_no_usable_size(box: list[float], tmp_path: Path) -> None:
    pdf = document()
    pdf.pages[0].MediaBox = Array(box)
    with pytest.raises(errors.DamagedArtError, match=r"PDF|page size"):
        read(saved(pdf, tmp_path))


def test_password_only_against_changes_is_no_obstacle(tmp_path: Path) -> None:
    path = saved(document(), tmp_path, encryption=pikepdf.Encryption(owner="boss", user=""))
    assert near(read(path, background="keep"), 0.5, 0.5, odd.RED)
