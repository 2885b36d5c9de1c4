"""Plates as files, read back by others: tifffile, pikepdf, and Ghostscript's separation device."""

from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pikepdf
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image

from artcheck.report.marks import art_box, with_marks
from artcheck.report.plate_files import PlateFile, file_name, plate_file
from artcheck.report.separations_pdf import separations_pdf
from artcheck.separation.plates import Plates, PlateSettings, make_plates
from tests.separation.drawings import separated, shapes

PPI = 300.0


@pytest.fixture(scope="module")
def plates() -> Plates:
    settings = PlateSettings(trap_pt=0.5, choke_pt=0.75, white_under=True)
    return make_plates(separated(shapes(301, 430), ppi=PPI), settings)


@pytest.fixture(scope="module")
def files(plates: Plates) -> list[PlateFile]:
    return [plate_file(plate, with_marks(plate, plates), PPI) for plate in plates.plates]


def test_tiff_is_read_back_by_another_library(plates: Plates, files: list[PlateFile]) -> None:
    row0, col0, row1, col1 = art_box(plates)
    for plate, file in zip(plates.plates, files, strict=True):
        with tifffile.TiffFile(io.BytesIO(file.tiff)) as tiff:
            (page,) = tiff.pages
            tags = {tag.name: tag.value for tag in page.tags}
        assert tags["Compression"] == 4  # CCITT T.6, TIFF 6.0 section 11
        assert tags["BitsPerSample"] == 1
        assert tags["XResolution"] == tags["YResolution"] == (300, 1)
        assert tags["ResolutionUnit"] == 2  # inch
        assert tags["PhotometricInterpretation"] == 1  # 0 is black
        assert "DateTime" not in tags
        with Image.open(io.BytesIO(file.tiff)) as image:
            white = np.asarray(image)
        assert np.array_equal(~white[row0:row1, col0:col1], plate.mask)


def test_plates_of_many_pixels_are_written_without_complaint(plates: Plates) -> None:
    """Pillow refuses pictures of twice 89 million pixels (its MAX_IMAGE_PIXELS)."""
    page = np.zeros((14000, 13000), bool)
    page[5000:6000, 7000:7100] = True
    file = plate_file(plates.plates[0], page, PPI)
    with tifffile.TiffFile(io.BytesIO(file.tiff)) as tiff:
        assert tiff.pages[0].shape == (14000, 13000)
        offset = tiff.pages[0].dataoffsets[0]
    assert file.tiff[offset : offset + len(file.strip)] == file.strip


def test_file_names(plates: Plates, files: list[PlateFile]) -> None:
    assert [file.name for file in files] == [
        "01-white-underbase.tif",
        "02-lemon.tif",
        "03-poppy.tif",
        "04-royal.tif",
        "05-coal.tif",
    ]
    odd = plates.plates[1]
    for name, wanted in {
        "Bläu / ../x": "02-blau-x.tif",
        "銀": "02-ink.tif",
        "a\n#1": "02-a-1.tif",
        "long " * 99: "02-" + "long-" * 12 + ".tif",
    }.items():
        changed = type(odd)(
            **{key: getattr(odd, key) for key in odd.__slots__ if key != "name"}, name=name
        )
        assert file_name(changed) == wanted


def test_marks_are_alike_and_names_differ(plates: Plates) -> None:
    row0, col0, row1, col1 = art_box(plates)
    pages = [with_marks(plate, plates) for plate in plates.plates]
    height, _ = pages[0].shape
    cross = np.s_[height // 2 - 60 : height // 2 + 60, :col0]
    assert pages[0][cross].any()
    assert all(np.array_equal(page[cross], pages[0][cross]) for page in pages)
    names = [page & ~np.logical_and.reduce(pages) for page in pages]
    for name in names:
        name[row0:row1, col0:col1] = False
    assert all(name.any() for name in names)
    laid_over = np.sum([_closed(name) for name in names], axis=0)
    assert laid_over.max() == 1  # no two names stand in one place, so that all can be read
    assert row1 - row0 == 301
    assert col1 - col0 == 430


def _closed(name: NDArray[np.bool_]) -> NDArray[np.int_]:
    """The box around a plate's name."""
    box = np.zeros(name.shape, np.int_)
    rows, cols = np.flatnonzero(name.any(axis=1)), np.flatnonzero(name.any(axis=0))
    box[rows[0] : rows[-1] + 1, cols[0] : cols[-1] + 1] = 1
    return box


@pytest.mark.parametrize("count", [1, 6, 12])
def test_names_of_many_plates_keep_out_of_art_and_crosses(count: int) -> None:
    drawing = shapes(301, 430)
    plates = make_plates(separated(drawing, ppi=PPI), PlateSettings())
    one = plates.plates[0]
    fields = {key: getattr(one, key) for key in one.__slots__ if key not in ("order", "name")}
    many = tuple(type(one)(**fields, order=n, name=f"Ink {n}") for n in range(1, count + 1))
    whole = {key: getattr(plates, key) for key in plates.__slots__ if key != "plates"}
    plates = type(plates)(**whole, plates=many)
    pages = [with_marks(plate, plates) for plate in many]
    row0, col0, row1, col1 = art_box(plates)
    assert all(np.array_equal(page[row0:row1, col0:col1], one.mask) for page in pages)
    height, width = pages[0].shape
    for page in pages[1:]:
        off = page ^ pages[0]
        assert not off[:, width // 2 - 40 : width // 2 + 40].any()
        assert not off[height // 2 - 40 : height // 2 + 40].any()


def test_a_tiny_print_keeps_its_marks_outside_the_art() -> None:
    tiny = make_plates(separated(np.zeros((5, 5), np.uint8), ppi=600), PlateSettings())
    page = with_marks(tiny.plates[0], tiny)
    row0, col0, row1, col1 = art_box(tiny)
    assert page[row0:row1, col0:col1].all()
    assert page.sum() > 25


@pytest.fixture(scope="module")
def pdf(plates: Plates, files: list[PlateFile]) -> bytes:
    return separations_pdf(plates, files, "drawing")


def test_pdf_is_valid_and_exact(plates: Plates, pdf: bytes) -> None:
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert document.check_pdf_syntax() == []
        (page,) = document.pages
        width, height = (float(x) for x in page.mediabox[2:])
        trim = [float(x) for x in page.trimbox]
        spaces = page.obj.Resources.ColorSpace
        names = [str(space[1]) for space in spaces.values()]
        assert all(space[0] == "/Separation" for space in spaces.values())
        assert [str(space[2][0]) for space in spaces.values()] == ["/Lab"] * 5
        assert "CreationDate" not in document.docinfo
    assert width == pytest.approx((430 + 300) * 72 / PPI)
    assert height == pytest.approx((301 + 300) * 72 / PPI)
    assert trim[2] - trim[0] == pytest.approx(430 * 72 / PPI)
    assert trim[3] - trim[1] == pytest.approx(301 * 72 / PPI)
    assert names == ["/White underbase", "/Lemon", "/Poppy", "/Royal", "/Coal"]


def test_two_runs_give_the_same_bytes(plates: Plates, files: list[PlateFile], pdf: bytes) -> None:
    assert separations_pdf(plates, files, "drawing") == pdf
    again = [plate_file(plate, with_marks(plate, plates), PPI) for plate in plates.plates]
    assert again == files


def rendered(pdf: bytes, folder: Path, ppi: float) -> dict[str, NDArray[np.bool_]]:
    """Ghostscript's plates by name, True where ink prints."""
    source = folder / "in.pdf"
    source.write_bytes(pdf)
    subprocess.run(
        [
            "gs",
            "-q",
            "-dBATCH",
            "-dNOPAUSE",
            "-dSAFER",
            "-sDEVICE=tiffsep",
            f"-r{ppi:g}",
            "-dGraphicsAlphaBits=1",
            "-dTextAlphaBits=1",
            "-o",
            str(folder / "out.tif"),
            str(source),
        ],
        check=True,
        capture_output=True,
    )
    plates = {}
    for file in folder.glob("out(*).tif"):
        with Image.open(file) as image:
            plates[file.name[4:-5]] = np.asarray(image.convert("L")) < 128
    return plates


@pytest.mark.skipif(shutil.which("gs") is None, reason="needs Ghostscript (package ghostscript)")
def test_ghostscript_separates_into_our_plates_pixel_for_pixel(
    plates: Plates, files: list[PlateFile], pdf: bytes, tmp_path: Path
) -> None:
    made = rendered(pdf, tmp_path, PPI)
    for plate in plates.plates:
        theirs = made[plate.name]
        assert np.array_equal(theirs, with_marks(plate, plates)), plate.name
    assert not any(made[process].any() for process in ("Cyan", "Magenta", "Yellow", "Black"))


@pytest.mark.skipif(shutil.which("gs") is None, reason="needs Ghostscript (package ghostscript)")
def test_inks_of_one_name_stay_two_plates(tmp_path: Path) -> None:
    labels = np.zeros((50, 60), np.uint8)
    labels[:, 30:] = 1
    drawing = separated(labels, ("Coal", "Poppy"), ppi=100)
    inks = tuple(ink.model_copy(update={"name": "Team"}) for ink in drawing.inks)
    fields = {key: getattr(drawing, key) for key in drawing.__slots__ if key != "inks"}
    two = make_plates(type(drawing)(**fields, inks=inks), PlateSettings())
    files = [plate_file(plate, with_marks(plate, two), 100) for plate in two.plates]
    made = rendered(separations_pdf(two, files, "a\x1b\ud800"), tmp_path, 100)
    for name, plate in zip(("Team", "Team 2"), two.plates, strict=True):
        assert np.array_equal(made[name], with_marks(plate, two))


@pytest.mark.skipif(shutil.which("gs") is None, reason="needs Ghostscript (package ghostscript)")
def test_an_ink_called_black_stays_a_spot_ink(tmp_path: Path) -> None:
    drawing = separated(np.zeros((50, 60), np.uint8), ("Coal",), ppi=100)
    black = drawing.inks[0].model_copy(update={"name": "Black"})
    fields = {key: getattr(drawing, key) for key in drawing.__slots__ if key != "inks"}
    one = make_plates(type(drawing)(**fields, inks=(black,)), PlateSettings())
    file = plate_file(one.plates[0], with_marks(one.plates[0], one), 100)
    made = rendered(separations_pdf(one, [file], "x"), tmp_path, 100)
    assert np.array_equal(made["Black ink"], with_marks(one.plates[0], one))
    assert not made["Black"].any()
