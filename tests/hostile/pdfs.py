"""PDF documents made with ill will: circles, bombs, boxes, actions, patterns without end."""

from __future__ import annotations

import functools
import zlib
from collections.abc import Iterator

from fixtures.odd_writers import pdf

_MARK = b"0.8 0.1 0.2 rg 10 10 60 40 re f\n"


SLOW = (
    "saves-million",
    "restores-million",
    "operators-million",
    "shapes-300000",
    "inline-lies",
    "forms-10-to-12",
    "image-bomb",
)
"""Take seconds to read, within the budgets: for the whole run."""


@functools.cache
def files(*, slow: bool = True) -> dict[str, bytes]:
    """Every crafted document by name."""
    found = [one for kind in (_pages, _streams, _forms, _nested, _bytes) for one in kind()]
    return {f"{name}.pdf": data for name, data in found if slow or name not in SLOW}


def _document(
    content: bytes = _MARK,
    page: str = "/MediaBox [0 0 100 60]",
    resources: str = "",
    objects: tuple[bytes, ...] = (),
    catalog: str = "",
    stream: str = "",
) -> bytes:
    """One page by hand: objects 1 to 4 are catalog, pages, page, content; more follow from 5.

    Offsets are right, so that readers do not have to mend the file.
    """
    parts = [
        f"<< /Type /Catalog /Pages 2 0 R {catalog} >>".encode(),
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R {page} /Contents 4 0 R /Resources << {resources} >> >>".encode(),
        _stream(content, stream),
        *objects,
    ]
    out, places = b"%PDF-1.7\n", []
    for number, part in enumerate(parts, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, part)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    head = b"xref\n0 %d\n0000000000 65535 f \n" % (len(parts) + 1)
    trailer = b"trailer << /Root 1 0 R /Size %d >>\nstartxref\n%d\n%%%%EOF\n"
    return out + head + table + trailer % (len(parts) + 1, len(out))


def _stream(content: bytes, entries: str = "") -> bytes:
    return f"<< /Length {len(content)} {entries} >>\nstream\n".encode() + content + b"\nendstream"


def _packed(content: bytes, times: int = 1, entries: str = "") -> bytes:
    for _ in range(times):
        content = zlib.compress(content, 9)
    filters = "[" + "/FlateDecode " * times + "]"
    return _stream(content, f"/Filter {filters} {entries}")


def _pages() -> Iterator[tuple[str, bytes]]:
    for name, page in {
        "box-0": "/MediaBox [0 0 0 0]",
        "box-line": "/MediaBox [0 0 100 0]",
        "box-huge": "/MediaBox [0 0 1e9 1e9]",
        "box-thin": "/MediaBox [0 0 14400 0.001]",
        "box-negative": "/MediaBox [100 60 0 0]",
        "box-words": "/MediaBox [/a /b (c) null]",
        "box-short": "/MediaBox [0 0 9]",
        "box-none": "",
        "box-far": "/MediaBox [1e9 1e9 1000000100 1000000060]",
        "crop-outside": "/MediaBox [0 0 100 60] /CropBox [500 500 600 600]",
        "unit-0": "/MediaBox [0 0 100 60] /UserUnit 0",
        "unit-negative": "/MediaBox [0 0 100 60] /UserUnit -1",
        "unit-1e9": "/MediaBox [0 0 100 60] /UserUnit 1e9",
        "unit-word": "/MediaBox [0 0 100 60] /UserUnit /big",
        "rotate-45": "/MediaBox [0 0 100 60] /Rotate 45",
        "rotate-huge": "/MediaBox [0 0 100 60] /Rotate 99999999999999999999",
        "annotations-word": "/MediaBox [0 0 100 60] /Annots /a",
        "annotations-itself": "/MediaBox [0 0 100 60] /Annots [3 0 R 2 0 R 99 0 R]",
    }.items():
        yield name, _document(page=page)
    sound = _document()
    yield "count-lies", sound.replace(b"/Count 1", b"/Count 2147483647")
    yield "count-negative", sound.replace(b"/Count 1", b"/Count -1")
    yield "kids-circle", sound.replace(b"/Kids [3 0 R]", b"/Kids [2 0 R]")
    yield "parent-itself", sound.replace(b"/Parent 2 0 R", b"/Parent 3 0 R")
    yield (
        "no-pages",
        sound.replace(b"/Kids [3 0 R]", b"/Kids [     ]").replace(b"Count 1", b"Count 0"),
    )
    yield "pages-5000", pdf([_MARK] * 5_000, (100, 60))


def _streams() -> Iterator[tuple[str, bytes]]:
    for name, content in {
        "saves-million": b"q " * 1_000_000 + _MARK,
        "restores-million": b"Q " * 1_000_000 + _MARK,
        "operators-million": b"1 0 0 rg " * 600_000 + _MARK,
        "shapes-300000": b"1 1 3 3 re f " * 300_000,
        "arrays-deep": b"[" * 200_000 + b"]" * 200_000 + b" TJ " + _MARK,
        "dictionaries-deep": b"<<" * 100_000 + _MARK,
        "numbers": b"1e999 nan -1e999 1e400 re f 99999999999999999999999999 0 0 1 0 0 cm " + _MARK,
        "matrix-0": b"0 0 0 0 0 0 cm " + _MARK,
        "operands-missing": b"re f cm Do Tf k scn cs gs sh " + _MARK,
        "operands-wrong": b"(a) /b [c] re f /x (y) cm 4 Do (z) Tf /q k " + _MARK,
        "inline-lies": b"BI /W 100000 /H 100000 /BPC 8 /CS /RGB ID xx EI " + _MARK,
        "inline-words": b"BI /W /a /H (b) ID xx EI " + _MARK,
        "inline-open": b"BI /W 9 /H 9 ID " + _MARK,
        "dash-tiny": b"[1e-7 1e-7] 0 d 0 0 m 100 60 l S " + _MARK,
        "line-1e9": b"1e9 w 0 0 m 100 60 l S",
        "text-open": b"BT /F1 1e30 Tf (" + b"a" * 100_000 + b") Tj " + _MARK,
        "binary": bytes(range(256)) * 4_000,
    }.items():
        yield name, _document(content)
    for times, size in ((1, 30_000_000), (3, 30_000_000)):
        bomb = _packed(b" " * size + _MARK, times)
        yield f"content-bomb-{times}", _document().replace(_stream(_MARK), bomb)
    yield "filter-unknown", _document(stream="/Filter /NoSuch")
    yield "filter-many", _document(stream=f"/Filter [{'/FlateDecode ' * 5_000}]")
    yield "filter-itself", _document(stream="/Filter 4 0 R /DecodeParms 4 0 R")
    yield "length-lies", _document().replace(b"/Length %d" % len(_MARK), b"/Length 99999999")
    yield "stream-elsewhere", _document(stream="/F (/etc/passwd) /FFilter /ASCIIHexDecode")
    for name, parms in {
        "predictor-huge": "<< /Predictor 15 /Columns 2147483647 /Colors 255 >>",
        "predictor-one-row": "<< /Predictor 15 /Columns 2147483647 >>",
        "predictor-spelled": "<< /Predictor 15 /C#6flumns 2147483647 >>",
        "predictor-elsewhere": "5 0 R",
        "predictor-elsewhere-listed": "[5 0 R]",
        "predictor-inks": "<< /Predictor 15 /Columns 999999 /Colors 2147483647 >>",
    }.items():
        packed = f"/Filter /FlateDecode /DecodeParms {parms}"
        apart = b"<< /Predictor 15 /Columns 6 0 R >>", b"2147483647"
        yield name, _document(zlib.compress(_MARK), stream=packed, objects=apart)
        unended = _document(zlib.compress(_MARK), stream=packed, objects=apart)
        yield f"{name}-unended", unended.replace(b"endstream", b"end", 1)


def _image(entries: str, content: bytes = bytes(96)) -> bytes:
    return _stream(content, f"/Type /XObject /Subtype /Image {entries}")


def _chain(first: int) -> tuple[bytes, ...]:
    """Thirteen forms from object ``first``, of which each draws the next ten times."""
    form = (
        "/Type /XObject /Subtype /Form /BBox [0 0 100 60] /Resources << /XObject << /X %d 0 R >> >>"
    )
    draws = [b"/X Do " * 10] * 12
    return tuple(_stream(draw, form % (first + n)) for n, draw in enumerate([*draws, _MARK], 1))


def _nested() -> Iterator[tuple[str, bytes]]:
    """A million million parts, or itself, by way of what is no form. Most were found by fuzzing."""
    fill = b"/Pattern cs /P scn 0 0 100 60 re f "
    tile = "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 50 50] /XStep 50 /YStep 50 /Resources << %s >>"
    pattern = _stream(b"/X Do", tile % "/XObject << /X 6 0 R >>")
    name, first = "/Pattern << /P 5 0 R >>", "/XObject << /X 5 0 R >>"
    yield "tile-of-forms", _document(fill, resources=name, objects=(pattern, *_chain(6)))
    tiles = [_stream(fill * 10, tile % f"/Pattern << /P {n} 0 R >>") for n in range(6, 18)]
    yield (
        "tiles-of-tiles",
        _document(fill, resources=name, objects=(*tiles, _stream(_MARK, tile % ""))),
    )
    wide = tile.replace("[0 0 50 50]", "[0 0 5000 5000]") % ""
    yield "tiles-overlapping", _document(fill, resources=name, objects=(_stream(_MARK * 99, wide),))
    fine = tile.replace("50", "1") % ""
    form = "/Type /XObject /Subtype /Form /BBox [0 0 1000000 1000000] /Resources << /Pattern << /P 6 0 R >> >>"
    dust = _stream(b"/Pattern cs /P scn 0 0 1000000 1000000 re f ", form), _stream(_MARK, fine)
    shrunk = b".0001 0 0 .0001 0 0 cm /X Do"
    yield "tiles-shrunk", _document(shrunk, resources="/XObject << /X 5 0 R >>", objects=dust)
    state = "<< /Type /ExtGState /SMask << /S /Luminosity /G %d 0 R >> >>"
    states = "/ExtGState << /G 5 0 R >>"
    mask = (state % 6).encode()
    yield (
        "mask-of-forms",
        _document(b"/G gs " + _MARK, resources=states, objects=(mask, *_chain(6))),
    )
    masked = f"/Type /XObject /Subtype /Form /BBox [0 0 100 60] /Resources << {states} >>"
    yield (
        "mask-itself",
        _document(
            b"/G gs " + _MARK, resources=states, objects=(mask, _stream(b"/G gs " + _MARK, masked))
        ),
    )
    square = b"<< /Type /Annot /Subtype /Square /Rect [0 0 50 50] /F 4 /AP << /N 6 0 R >> >>"
    page = "/MediaBox [0 0 100 60] /Annots [5 0 R]"
    yield "annotation-of-forms", _document(page=page, objects=(square, *_chain(6)))
    font = (
        "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 9 9] /FontMatrix [1 0 0 1 0 0] /CharProcs << /a 6 0 R >>"
        " /Encoding << /Differences [97 /a] >> /FirstChar 97 /LastChar 97 /Widths [9] /Resources << %s >> >>"
    )
    glyphs = (font % "/XObject << /X 7 0 R >>").encode(), _stream(b"/X Do"), *_chain(7)
    text = b"BT /F 12 Tf 9 9 Td (aaaa) Tj ET "
    yield "glyph-of-forms", _document(text, resources="/Font << /F 5 0 R >>", objects=glyphs)
    lent = [one.replace(b"/XObject << /X", b"/ZObject << /X") for one in _chain(7)]
    yield (
        "glyph-lent",
        _document(text, resources="/Font << /F 5 0 R >>", objects=(*glyphs[:2], *lent)),
    )
    long = b"BT /F 1 Tf 9 9 Td " + (b"(" + b"a" * 900 + b") Tj ") * 900 + b"ET"
    heavy = (font % "").encode(), _stream(_MARK * 900)
    yield "glyph-heavy", _document(long, resources="/Font << /F 5 0 R >>", objects=heavy)
    page_s = "/Type /XObject /Subtype /Form /BBox [0 0 100 60] /Resources << >>"
    borrowed = _stream(b"/X Do /X Do " + _MARK, page_s)
    yield (
        "form-itself-borrowed",
        _document(b"/X Do", resources="/XObject << /X 5 0 R >>", objects=(borrowed,)),
    )
    broken = [
        one.replace(b"/X Do /X", b">> /X Do ] )( /X").replace(b"/Length 60", b"/Length 67")
        for one in _chain(5)
    ]
    yield "forms-damaged", _document(b"/X Do", resources=first, objects=tuple(broken))
    string = _document(b"(X) Do", resources=first, objects=_chain(5)).replace(b"/X Do", b"(X)Do")
    yield "forms-by-string", string
    yield from _unfolding()


def _unfolding() -> Iterator[tuple[str, bytes]]:
    """Twelve functions or conditions of ten references each to the next."""

    def nested(first: int, one: str, last: str, deep: int = 12) -> tuple[bytes, ...]:
        return (
            *((one % ((n,) * 10)).encode() for n in range(first + 1, first + deep)),
            last.encode(),
        )

    stitched = (
        f"<< /FunctionType 3 /Domain [0 1] /Functions [{'%d 0 R ' * 10}] /Encode [{'0 1 ' * 10}]"
    )
    stitched += f" /Bounds [{' '.join(f'.{n}' for n in range(1, 10))}] >>"
    plain = "<< /FunctionType 2 /Domain [0 1] /C0 [0 0 0] /C1 [1 0 0] /N 1 >>"
    fade = b"<< /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 100 0] /Function 6 0 R >>"
    fades = "/Shading << /S 5 0 R >>"
    yield (
        "fade-of-fades",
        _document(b"/S sh", resources=fades, objects=(fade, *nested(6, stitched, plain))),
    )
    tint = "/ColorSpace << /C [/Separation /Ink /DeviceRGB 5 0 R] >>"
    yield (
        "tint-of-tints",
        _document(b"/C cs 1 scn " + _MARK, resources=tint, objects=nested(5, stitched, plain)),
    )
    one = stitched.replace("%d 0 R " * 10, "%d 0 R").replace("[" + "0 1 " * 10, "[0 1")
    one = one[: one.index("/Bounds")] + "/Bounds [] >>"
    long = (*((one % n).encode() for n in range(7, 5_000)), plain.encode())
    yield "fade-deep", _document(b"/S sh", resources=fades, objects=(fade, *long))
    layer = b"<< /Type /OCG /Name (a) >>"
    shown = b"<< /Type /OCMD /OCGs 6 0 R /VE 7 0 R >>"
    expressions = nested(7, f"[/And {'%d 0 R ' * 10}]", "[/Not [/Not 6 0 R]]")
    yield (
        "layer-of-conditions",
        _document(
            b"/OC /M BDC " + _MARK + b" EMC",
            resources="/Properties << /M 5 0 R >>",
            objects=(shown, layer, *expressions),
            catalog="/OCProperties << /OCGs [6 0 R] /D << /ON [6 0 R] >> >>",
        ),
    )


def _forms() -> Iterator[tuple[str, bytes]]:
    draw = b"q 80 0 0 50 5 5 cm /X Do Q "
    name = "/XObject << /X 5 0 R >>"
    form = "/Type /XObject /Subtype /Form /BBox [0 0 9e4 9e4] /Resources << /XObject << /X 5 0 R /Y 6 0 R >> >>"
    yield (
        "form-itself",
        _document(b"/X Do", resources=name, objects=(_stream(b"/X Do " + _MARK, form),)),
    )
    twice = _stream(b"/X Do /X Do " + _MARK, form)
    yield "form-itself-twice", _document(b"/X Do", resources=name, objects=(twice,))
    both = _stream(b"/Y Do /Y Do", form), _stream(b"/X Do /X Do", form)
    yield "forms-circle", _document(b"/X Do", resources=name, objects=both)
    yield "forms-10-to-12", _document(b"/X Do", resources=name, objects=_chain(5))
    for title, entries in {
        "huge": "/Width 100000 /Height 100000 /ColorSpace /DeviceRGB /BitsPerComponent 8",
        "2-31": "/Width 2147483647 /Height 2147483647 /ColorSpace /DeviceGray /BitsPerComponent 8",
        "negative": "/Width -12 /Height -8 /ColorSpace /DeviceGray /BitsPerComponent 8",
        "words": "/Width /a /Height (b) /ColorSpace 7 /BitsPerComponent /c",
        "bits-99": "/Width 12 /Height 8 /ColorSpace /DeviceGray /BitsPerComponent 99",
        "indexed-itself": "/Width 12 /Height 8 /ColorSpace [/Indexed 5 0 R 255 (a)] /BitsPerComponent 8",
        "mask-itself": "/Width 12 /Height 8 /ColorSpace /DeviceGray /BitsPerComponent 8 /SMask 5 0 R",
        "jpx-rubbish": "/Width 12 /Height 8 /Filter /JPXDecode",
        "jbig2-rubbish": "/Width 12 /Height 8 /Filter /JBIG2Decode /BitsPerComponent 1",
        "jpeg-rubbish": "/Width 12 /Height 8 /Filter /DCTDecode /ColorSpace /DeviceRGB",
        "fax-rubbish": "/Width 12 /Height 8 /Filter /CCITTFaxDecode /ImageMask true",
    }.items():
        yield f"image-{title}", _document(draw, resources=name, objects=(_image(entries),))
    large = "/Type /XObject /Subtype /Image /Width 20000 /Height 20000 /ColorSpace /DeviceGray /BitsPerComponent 8"
    bomb = _packed(bytes(400_000_000), 1, large)
    yield "image-bomb", _document(draw, resources=name, objects=(bomb,))
    yield from _paints()


def _paints() -> Iterator[tuple[str, bytes]]:
    fill = b"/Pattern cs /P scn 0 0 100 60 re f"
    name = "/Pattern << /P 5 0 R >>"
    tile = "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 1 1] /XStep {0} /YStep {0} /Resources << /Pattern << /P 5 0 R >> >>"
    for step in ("0", "1e-7", "-1e-7", "0.001"):
        yield (
            f"tiles-{step}",
            _document(fill, resources=name, objects=(_stream(_MARK, tile.format(step)),)),
        )
    yield "tiles-itself", _document(fill, resources=name, objects=(_stream(fill, tile.format(1)),))
    function = _stream(
        b"{ " + b"dup mul " * 20_000 + b"}",
        "/FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1]",
    )
    shading = b"<< /ShadingType 1 /ColorSpace /DeviceRGB /Function 6 0 R >>"
    yield (
        "shading-slow",
        _document(b"/S sh", resources="/Shading << /S 5 0 R >>", objects=(shading, function)),
    )
    stitched = b"<< /FunctionType 3 /Domain [0 1] /Functions [5 0 R 5 0 R] /Bounds [0.5] /Encode [0 1 0 1] >>"
    spot = "/ColorSpace << /C [/Separation /Ink /DeviceRGB 5 0 R] >>"
    yield "function-itself", _document(b"/C cs 1 scn " + _MARK, resources=spot, objects=(stitched,))
    for title, space in {
        "itself": "5 0 R",
        "empty": "[]",
        "short": "[/Separation]",
        "names-many": f"[/DeviceN [{'/A ' * 3_000}] /DeviceRGB 5 0 R]",
        "lab-words": "[/Lab << /WhitePoint (x) >>]",
        "profile-rubbish": "[/ICCBased 6 0 R]",
        "separation-words": "[/Separation 9 (a) /b]",
        "separation-nan": "[/Separation /Nan /Lab << /C1 [1e999 1e999 1e999] /FunctionType 2 >>]",
    }.items():
        objects = (b"[/Indexed 5 0 R 1 (ab)]", _stream(b"CMYK" * 99, "/N 4"))
        yield (
            f"space-{title}",
            _document(
                b"/C cs 1 scn " + _MARK, resources=f"/ColorSpace << /C {space} >>", objects=objects
            ),
        )
    for title, font in {
        "rubbish": "<< /Type /Font /Subtype /TrueType /BaseFont /A /FontDescriptor << /FontFile2 6 0 R >> >>",
        "itself": "<< /Type /Font /Subtype /Type0 /BaseFont /A /DescendantFonts [5 0 R] >>",
        "word": "/Font",
        "name": "<< /Type /Font /Subtype /Type1 /BaseFont /A#1b#5b31m#0aB#e2#80#ae >>",
        "glyph-itself": "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 9 9] /FontMatrix [1 0 0 1 0 0]"
        " /CharProcs << /a 7 0 R >> /Encoding << /Differences [97 /a] >> /FirstChar 97 /LastChar 97"
        " /Widths [9] /Resources << /Font << /F 5 0 R >> >> >>",
    }.items():
        text = b"BT /F 12 Tf 9 9 Td (aaaa) Tj ET "
        parts = (
            font.encode(),
            _stream(b"\x00\x01\x00\x00" + bytes(range(256)) * 9),
            _stream(text),
        )
        yield (
            f"font-{title}",
            _document(text + _MARK, resources="/Font << /F 5 0 R >>", objects=parts),
        )


def _bytes() -> Iterator[tuple[str, bytes]]:
    sound = _document()
    actions = "/OpenAction << /S /JavaScript /JS (app.alert(1)) >> /AA << /WC << /S /Launch /F (/bin/sh) >> >>"
    yield "actions", _document(catalog=actions)
    reach = "/OpenAction << /S /URI /URI (http://192.0.2.1/) >> /AF [<< /F (/etc/passwd) >>]"
    yield "reaches", _document(catalog=reach)
    yield "intents-word", _document(b"0 1 1 0 k " + _MARK, catalog="/OutputIntents /a")
    intent = "/OutputIntents [<< /DestOutputProfile 5 0 R >> 5 0 R null]"
    rubbish = _stream(bytes(16) + b"CMYK" + b"x" * 500)
    yield "intents-rubbish", _document(b"0 1 1 0 k " + _MARK, catalog=intent, objects=(rubbish,))
    yield "layers-word", _document(catalog="/OCProperties (a)")
    yield "layers-itself", _document(catalog="/OCProperties 1 0 R")
    yield "previous-itself", sound.replace(b"/Size 5", b"/Size 5 /Prev %d" % sound.index(b"xref"))
    yield "size-2-31", sound.replace(b"/Size 5", b"/Size 2147483647")
    yield "root-missing", sound.replace(b"/Root 1 0 R", b"/Root 9 0 R")
    yield "root-itself", sound.replace(b"/Root 1 0 R", b"/Root 4 0 R")
    yield "table-missing", sound.replace(b"xref\n0 5", b"xxxx\n0 5")
    yield "object-deep", sound.replace(b"/Type /Catalog", b"/A " + b"[" * 100_000 + b"]" * 100_000)
    yield "header-only", b"%PDF-1.7\n%%EOF\n"
    yield "header-late", bytes(1_000) + sound
    encrypted = b"/Encrypt << /Filter /Standard /V 99 /R 99 /O (a) /U (b) /P -1 >> /ID [(a) (b)]"
    yield "encrypted-unknown", sound.replace(b"/Root 1 0 R", b"/Root 1 0 R " + encrypted)
