"""A traced plate, drawn again by another program, is the plate."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from artcheck.errors import MissingToolError
from artcheck.report.drawing import drawing_eps, drawing_pdf, path_of, simplified_svg
from artcheck.separation.plates import PlateSettings, make_plates
from artcheck.separation.tracing import FIT_PX, outlines
from tests.separation.drawings import separated, shapes

Mask = NDArray[np.bool_]


def drawn_again(mask: Mask) -> Mask:
    height, width = mask.shape
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">'
        f'<path fill-rule="evenodd" d="{path_of(mask)}"/></svg>'
    )
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg))
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))[..., 3] > 127


def disc_of(radius: float) -> Mask:
    rows, cols = np.mgrid[:300, :300]
    return np.asarray(np.hypot(rows - 150.3, cols - 149.8) < radius, bool)


def letters() -> Mask:
    image = Image.new("1", (1000, 600))
    pen = ImageDraw.Draw(image)
    for row, size in ((10, 24), (60, 40), (130, 80), (300, 160)):
        pen.text((10, row), "Gannet Bend 8&%", fill=1, font=ImageFont.load_default(size=size))
    return np.asarray(image, bool)


def straight() -> Mask:
    image = Image.new("1", (600, 600))
    pen = ImageDraw.Draw(image)
    pen.regular_polygon((300, 300, 250), 5, rotation=11, fill=1)
    pen.ellipse((200, 200, 400, 400), fill=0)
    pen.rectangle((10, 10, 13, 500), fill=1)
    pen.line((30, 10, 590, 60), fill=1, width=4)
    return np.asarray(image, bool)


def blots() -> Mask:
    smooth = cv2.GaussianBlur(np.random.default_rng(1).random((400, 400)), (0, 0), 4)
    return np.asarray(smooth > 0.5, bool)


DRAWINGS = {
    "disc of 12": disc_of(12),
    "disc of 120": disc_of(120),
    "letters": letters(),
    "straight": straight(),
    "blots": blots(),
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_traced_plate_is_the_plate(name: str) -> None:
    plate = DRAWINGS[name]
    again = drawn_again(plate)
    both, either = (plate & again).sum(), (plate | again).sum()
    assert both / either >= 0.985
    # No wrong pixel lies farther than 1.5 px from the plate's outline.
    for wrong, side in ((plate & ~again, plate), (again & ~plate, ~plate)):
        framed = np.pad(side, 1).astype(np.uint8)  # beyond the picture lies the other side
        depth = cv2.distanceTransform(framed, cv2.DIST_L2, 5)[1:-1, 1:-1]
        assert float(depth[wrong].max(initial=0)) <= 1.5


def test_slanted_edges_and_circles_need_few_points() -> None:
    image = Image.new("1", (1000, 1000))
    pen = ImageDraw.Draw(image)
    pen.polygon([(60, 100), (900, 60), (940, 860), (100, 900)], fill=1)  # steps of 20 pixels
    ((points, _),) = outlines(np.asarray(image, bool))
    assert len(points) <= 168 / 4  # there are 42 steps a side
    ((points, _),) = outlines(disc_of(140))
    # A chord that bulges by FIT_PX spans sqrt(8 r FIT) of an arc.
    assert len(points) <= 3 * 2 * np.pi * 140 / np.sqrt(8 * 140 * FIT_PX)


def test_single_pixels_and_none() -> None:
    assert path_of(np.zeros((5, 5), bool)) == ""
    dot = np.zeros((7, 7), bool)
    dot[3, 3] = True
    assert drawn_again(dot)[3, 3]


def test_svg_has_exact_size_and_inks_in_order() -> None:
    plates = make_plates(separated(shapes(), ppi=300), PlateSettings(trap_pt=0.5))
    svg = simplified_svg(plates)
    assert 'width="1in" height="0.733333in"' in svg
    assert [svg.index(f"<title>{p.name}</title>") for p in plates.plates] == sorted(
        svg.index(f"<title>{p.name}</title>") for p in plates.plates
    )
    assert simplified_svg(plates) == svg


def test_pdf_and_eps_have_no_dates() -> None:
    svg = simplified_svg(make_plates(separated(shapes(), ppi=300), PlateSettings()))
    try:
        drawing_eps(svg)
    except MissingToolError:
        pytest.skip("needs libcairo2")
    assert drawing_pdf(svg) == drawing_pdf(svg)
    assert b"CreationDate" not in drawing_pdf(svg)
    assert b"CreationDate" not in drawing_eps(svg)
    assert drawing_eps(svg).startswith(b"%!PS-Adobe-3.0 EPSF-3.0")
