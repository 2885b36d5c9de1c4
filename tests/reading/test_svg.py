"""SVG: what is drawn, at which size, and what is refused."""

from __future__ import annotations

import base64
import io
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from artcheck import errors
from artcheck.domain.artwork import Artwork
from artcheck.reading import read
from artcheck.reading.budget import MOST_DEPTH, MOST_ELEMENTS, RENDER_SIDE
from fixtures import make_odd_files as odd
from tests.art import svg

HEAD = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
INK = '<rect width="50" height="50" fill="#cc202c"/>'


def drawn(
    folder: Path, body: str, size: str = 'viewBox="0 0 100 100"', head: str = HEAD
) -> Artwork:
    path = folder / "a.svg"
    path.write_text(f"<svg {head} {size}>{body}</svg>", encoding="utf-8")
    return read(path)


def colour_at(art: Artwork, row: float, col: float) -> tuple[int, ...]:
    """The colour at shares of height and width."""
    height, width = art.rgb.shape[:2]
    at = int(row * height), int(col * width)
    assert art.alpha is None or art.alpha[at] == 255
    return tuple(art.rgb[at].tolist())


# --- size ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("size", "width_in", "height_in"),
    [
        ('width="2in" height="1in"', 2, 1),
        ('width="50.8mm" height="2.54cm"', 2, 1),
        ('width="144pt" height="6pc"', 2, 1),
        ('width="192px" height="96"', 2, 1),
        ('width="203.2q" height="101.6Q"', 2, 1),
        ('width="1.92e2" height=".96e2"', 2, 1),
        ('width="2in" viewBox="0 0 40 10"', 2, 0.5),
        ('height="1in" viewBox="0 0 40 10"', 4, 1),
        ('width="100%" height="100%" viewBox="0 0 192 96"', 2, 1),
        ('viewBox="0 0 192 96"', 2, 1),
        ('viewBox="0,0,192,96"', 2, 1),
        ("", 300 / 96, 150 / 96),
        ('width="0" height="-4" viewBox="0 0 192 96"', 2, 1),
        ('width="2in" height="1in" viewBox="0 0 0 0"', 2, 1),
    ],
)
def test_page_size(size: str, width_in: float, height_in: float, tmp_path: Path) -> None:
    """CSS Values 4, 6.2: 96 px, 72 pt, 6 pc, 25.4 mm, 101.6 Q to the inch; CSS 2.2, 10.3.2."""
    art = drawn(tmp_path, INK, size)
    assert art.vector is not None
    assert art.vector.width_in == pytest.approx(width_in)
    assert art.vector.height_in == pytest.approx(height_in)
    assert max(art.source_size) == RENDER_SIDE
    assert art.resolution_ppi == pytest.approx(RENDER_SIDE / max(width_in, height_in))


def test_nothing_is_cut_off_by_rounding(tmp_path: Path) -> None:
    """A page of 1/3 px: the ink still touches all four sides."""
    body = '<rect width="10.333" height="7.777" fill="#000"/>'
    art = drawn(tmp_path, body, 'width="10.333px" height="7.777px" viewBox="0 0 10.333 7.777"')
    alpha = np.full(art.rgb.shape[:2], 255) if art.alpha is None else art.alpha
    assert alpha[[0, -1]].min() >= 128
    assert alpha[:, [0, -1]].min() >= 128


# --- colour -------------------------------------------------------------------------------------


def test_current_colour(tmp_path: Path) -> None:
    body = '<g color="#0e51ba"><rect width="100" height="100" fill="currentColor"/></g>'
    assert colour_at(drawn(tmp_path, body), 0.5, 0.5) == odd.BLUE


def test_style_sheet_within(tmp_path: Path) -> None:
    body = '<style>.a { fill: #008f32 }</style><rect class="a" width="100" height="100"/>'
    assert colour_at(drawn(tmp_path, body), 0.5, 0.5) == odd.GREEN


def test_use_gradient_mask_and_clip_are_no_outside_references(tmp_path: Path) -> None:
    body = (
        '<defs><linearGradient id="g"><stop stop-color="#cc202c"/></linearGradient>'
        '<clipPath id="c"><rect width="50" height="100"/></clipPath>'
        '<rect id="r" width="100" height="100"/></defs>'
        '<use xlink:href="#r" fill="url(#g)" style="clip-path:url(\'#c\')"/>'
    )
    art = drawn(tmp_path, body)
    assert colour_at(art, 0.5, 0.25) == odd.RED
    assert art.alpha is not None
    assert art.alpha[:, -10].max() == 0


def test_drawing_without_a_name_space(tmp_path: Path) -> None:
    assert colour_at(drawn(tmp_path, INK, head=""), 0.25, 0.25) == odd.RED


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "iso-8859-1"])
def test_encodings(encoding: str, tmp_path: Path) -> None:
    declared = encoding.removesuffix("-sig")
    text = (
        f'<?xml version="1.0" encoding="{declared}"?><svg {HEAD} viewBox="0 0 9 9"><desc>é</desc>'
    )
    path = tmp_path / "a.svg"
    path.write_bytes(f"{text}{INK}</svg>".encode(encoding))
    assert colour_at(read(path), 0.5, 0.5) == odd.RED


def test_packed_bomb_is_bounded(tmp_path: Path) -> None:
    import gzip

    path = tmp_path / "bomb.svgz"
    path.write_bytes(gzip.compress(b"<svg>" + b" " * (80 * 1024**2)))
    with pytest.raises(errors.TooLargeArtError, match="64 MB"):
        read(path)


@pytest.mark.parametrize(
    "text", ["<svg", "<svg></g>", '<svg xmlns="x"/>', "<html><svg/></html>", "<svg/>" * 2]
)
def test_no_drawing(text: str, tmp_path: Path) -> None:
    path = tmp_path / "a.svg"
    path.write_text(text)
    with pytest.raises(errors.ArtFileError) as told:
        read(path)
    assert "\n" not in str(told.value)


# --- what it asks for ---------------------------------------------------------------------------


@pytest.fixture
def listener() -> object:
    """A server on this machine that counts who asks."""
    asked: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *args: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield server.server_port, asked
    server.shutdown()
    thread.join()
    server.server_close()


REACHING = [
    '<image width="9" height="9" href="{}"/>',
    '<image width="9" height="9" xlink:href="{}"/>',
    '<use href="{}#a"/>',
    '<rect width="9" height="9" fill="url({}#g)"/>',
    '<rect width="9" height="9" style="fill:url( \'{}\' )"/>',
    '<style>@import "{}";</style>',
    "<style>@font-face {{ font-family: x; src: url({}) }}</style>",
    '<filter id="f"><feImage href="{}"/></filter><rect width="9" height="9" filter="url(#f)"/>',
    '<g xml:base="{}"><rect width="9" height="9"/></g>',
    '<script href="{}"/>',
]


@pytest.mark.parametrize("body", REACHING)
def test_network_is_never_asked(body: str, listener: tuple[int, list[str]], tmp_path: Path) -> None:
    port, asked = listener
    with pytest.raises(errors.ReachingArtError, match="outside itself"):
        drawn(tmp_path, INK + body.format(f"http://127.0.0.1:{port}/a.png"))
    assert asked == []


@pytest.mark.parametrize("body", REACHING[:5])
def test_files_are_never_opened(body: str, tmp_path: Path) -> None:
    Image.new("RGB", (9, 9), "red").save(tmp_path / "beside.png")
    for target in ("beside.png", f"file://{tmp_path}/beside.png", f"{tmp_path}/beside.png"):
        with pytest.raises(errors.ReachingArtError, match="outside itself"):
            drawn(tmp_path, INK + body.format(target))


def test_outside_name_is_shown_escaped(tmp_path: Path) -> None:
    with pytest.raises(errors.ReachingArtError) as told:
        drawn(tmp_path, INK + '<image href="a&#x202e;gnp.exe"/>')
    assert "\\u202egnp" in str(told.value)


def test_link_around_art_is_harmless(tmp_path: Path) -> None:
    art = drawn(tmp_path, f'<a href="https://example.invalid/">{INK}</a>')
    assert colour_at(art, 0.25, 0.25) == odd.RED


# --- work ---------------------------------------------------------------------------------------


def test_uses_may_nest_but_not_explode(tmp_path: Path) -> None:
    """Ten levels of ten uses each are a billion rectangles."""
    levels = ['<g id="l0"><rect width="9" height="9" fill="#cc202c"/></g>']
    levels += [f'<g id="l{n}">' + f'<use href="#l{n - 1}"/>' * 10 + "</g>" for n in range(1, 10)]
    with pytest.raises(errors.TooLargeArtError, match=f"{MOST_ELEMENTS:,} elements"):
        drawn(tmp_path, f"<defs>{''.join(levels)}</defs><use href='#l9'/>")
    art = drawn(tmp_path, f"<defs>{''.join(levels[:4])}</defs><use href='#l3'/>")
    assert colour_at(art, 0.05, 0.05) == odd.RED


@pytest.mark.parametrize("deep", ["<g>", '<svg x="0">'])
def test_deep_nesting_is_refused(deep: str, tmp_path: Path) -> None:
    close = f"</{deep[1:].split()[0].rstrip('>')}>"
    for depth in (MOST_DEPTH, 20_000):
        with pytest.raises(errors.TooLargeArtError, match="deep"):
            drawn(tmp_path, deep * depth + INK + close * depth)
    assert drawn(tmp_path, deep * 50 + INK + close * 50).kind == "vector"


def test_long_chains_of_uses_are_refused(tmp_path: Path) -> None:
    chain = "".join(f'<g id="n{n}"><use href="#n{n + 1}"/></g>' for n in range(5000))
    with pytest.raises(errors.TooLargeArtError, match="deep"):
        drawn(tmp_path, f'<defs>{chain}</defs>{INK}<use href="#n0"/>')


# --- embedded pictures --------------------------------------------------------------------------


def data_url(image: Image.Image, kind: str) -> str:
    out = io.BytesIO()
    image.save(out, kind)
    mime = f"image/{kind.lower()}"
    return f"data:{mime};base64,{base64.b64encode(out.getvalue()).decode()}"


PICTURE = Image.fromarray(odd.drawing())


@pytest.mark.parametrize(
    "place",
    [
        'width="240" height="160"',
        'transform="scale(.5)" width="480" height="320"',
        'transform="matrix(0.24 0 0 0.24 0 0)" width="1000" height="666.667"',
    ],
)
def test_only_bitmap_keeps_its_pixels(place: str, tmp_path: Path) -> None:
    body = f'<g><image {place} xlink:href="{data_url(PICTURE, "PNG")}"/></g>'
    art = drawn(tmp_path, body, 'width="2.5in" viewBox="0 0 240 160"')
    assert art.source_size == (240, 160)
    assert art.resolution_ppi == pytest.approx(96)
    assert [note.id for note in art.notes] == ["wraps-bitmap"]
    flat = odd.flat_areas(4)
    assert art.alpha is not None
    np.testing.assert_array_equal(art.alpha[flat], odd.drawing()[flat, 3])


def test_turned_bitmap_is_drawn_as_large_as_a_drawing(tmp_path: Path) -> None:
    image = (
        f'<image transform="rotate(30)" width="90" height="60" href="{data_url(PICTURE, "PNG")}"/>'
    )
    art = drawn(tmp_path, image)
    assert max(art.source_size) == RENDER_SIDE
    assert art.vector is not None
    assert art.vector.wraps_bitmap


def test_bitmap_beside_shapes_is_no_wrapper(tmp_path: Path) -> None:
    art = drawn(tmp_path, INK + f'<image width="9" height="9" href="{data_url(PICTURE, "PNG")}"/>')
    assert art.kind == "vector"
    assert art.notes == ()


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "GIF", "WEBP"])
def test_kinds_that_are_drawn(kind: str, tmp_path: Path) -> None:
    solid = Image.new("RGB", (40, 40), odd.RED)
    art = drawn(tmp_path, f'<image width="100" height="100" href="{data_url(solid, kind)}"/>')
    assert np.abs(np.array(colour_at(art, 0.5, 0.5)) - odd.RED).max() <= 6
    assert [note.id for note in art.notes] == ["wraps-bitmap", "solid-box"]


@pytest.mark.parametrize("kind", ["TIFF", "BMP"])
def test_kinds_that_are_not_are_told(kind: str, tmp_path: Path) -> None:
    image = f'<image width="9" height="9" href="{data_url(PICTURE.convert("RGB"), kind)}"/>'
    art = drawn(tmp_path, INK + image)
    assert [note.id for note in art.notes] == ["parts-not-drawn"]
    assert art.alpha is not None
    assert art.alpha[-5:, -5:].max() == 0


def test_embedded_bomb_is_refused_by_its_header(tmp_path: Path) -> None:
    data = base64.b64encode(odd.png_100000_px(tmp_path).read_bytes()).decode()
    image = f'<image width="9" height="9" href="data:image/png;base64,{data}"/>'
    with pytest.raises(errors.TooLargeArtError, match="million"):
        drawn(tmp_path, INK + image)


# --- text and other parts -----------------------------------------------------------------------


def test_text_of_no_family_is_told_like_any_other(tmp_path: Path) -> None:
    art = drawn(tmp_path, INK + '<text y="90">BOATS</text>')
    assert art.vector is not None
    assert art.vector.live_fonts == ("Times New Roman",)
    assert [note.id for note in art.notes] in (["live-text"], ["missing-font"])


def test_empty_text_is_no_text(tmp_path: Path) -> None:
    assert drawn(tmp_path, INK + '<text font-family="Nowhere"> </text>').notes == ()


UNDRAWN = [
    (
        '<foreignObject width="100" height="100"><p xmlns="http://www.w3.org/1999/xhtml">x</p>'
        "</foreignObject>"
    ),
    (
        '<flowRoot><flowRegion><rect width="100" height="100"/></flowRegion>'
        "<flowPara>words</flowPara></flowRoot>"
    ),
    '<script>document.write("x")</script>',
    '<video width="100" height="100"/>',
    (
        '<defs><meshgradient id="m"><meshrow/></meshgradient></defs>'
        '<rect width="100" height="100" fill="url(#m)"/>'
    ),
]


@pytest.mark.parametrize("body", UNDRAWN)
def test_parts_that_are_not_drawn_are_told(body: str, tmp_path: Path) -> None:
    art = drawn(tmp_path, f"{INK}{body}")
    assert [note.id for note in art.notes] == ["parts-not-drawn"]
    assert art.alpha is not None
    assert art.alpha[-10:, -10:].max() == 0  # and indeed nothing of it is there


def test_page_content_beside_its_stand_in_is_not_missed(tmp_path: Path) -> None:
    body = f'<switch><foreignObject width="9" height="9"><p/></foreignObject><g>{INK}</g></switch>'
    art = drawn(tmp_path, body)
    assert art.notes == ()
    assert colour_at(art, 0.25, 0.25) == odd.RED


def test_a_drawing_is_rendered_finer_when_asked(tmp_path: Path) -> None:
    file = tmp_path / "mark.svg"
    file.write_text(svg('<circle cx="300" cy="200" r="150" fill="#c81e28"/>'))
    usual, finer = read(file), read(file, times=1.5)
    assert max(finer.source_size) == 1.5 * max(usual.source_size)
    assert finer.resolution_ppi == pytest.approx(1.5 * (usual.resolution_ppi or 0))
