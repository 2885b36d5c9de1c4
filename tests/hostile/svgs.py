"""Drawings made with ill will: entities, references, nesting, numbers, costly effects."""

from __future__ import annotations

import base64
import functools
import gzip
import zlib
from collections.abc import Iterator

from fixtures.odd_writers import PNG_SIGNATURE, png_chunk

_ROOT = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    ' width="100" height="60" viewBox="0 0 100 60">'
)
_MARK = '<rect x="10" y="10" width="40" height="30" fill="#c81e28"/>'

REACHING = {
    "file-image": '<image href="file:///etc/passwd" width="9" height="9"/>',
    "path-image": '<image xlink:href="/etc/passwd" width="9" height="9"/>',
    "relative-image": '<image href="../../secret.png" width="9" height="9"/>',
    "network-image": '<image href="http://192.0.2.1/a.png" width="9" height="9"/>',
    "no-scheme-image": '<image href="//192.0.2.1/a.png" width="9" height="9"/>',
    "use-file": '<use href="other.svg#a"/>',
    "filter-image": '<filter id="f"><feImage href="http://192.0.2.1/a.png"/></filter>',
    "pattern-file": '<pattern id="p" href="file:///etc/passwd"/>',
    "gradient-file": '<linearGradient id="g" xlink:href="other.svg#g"/>',
    "text-path": '<text><textPath href="http://192.0.2.1/a.svg#p">a</textPath></text>',
    "style-url": '<rect style="fill:url(http://192.0.2.1/a.svg#p)" width="9" height="9"/>',
    "attribute-url": '<rect mask="url(file:///etc/passwd#m)" width="9" height="9"/>',
    "font-face": "<style>@font-face{font-family:a;src:url('file:///etc/passwd')}</style>",
    "style-import": '<style>@import "http://192.0.2.1/a.css";</style>',
    "svg-in-data": '<image href="data:image/svg+xml,%3Csvg/%3E" width="9" height="9"/>',
    "svg-in-data-base64": '<image href="data:image/svg+xml;base64,PHN2Zy8+" width="9" height="9"/>',
    "base": '<g xml:base="file:///etc/"><image href="#a"/></g>',
}
"""What asks for files or the network: each must be refused before a renderer sees it. Addresses are
of RFC 5737's block for documentation, which nobody answers."""


SLOW = {f"{name}.svg" for name in ("many", "path-of-150000", "markers", "text-families")}
"""Take seconds to read, within the budgets: for the whole run."""


@functools.cache
def files(*, slow: bool = True) -> dict[str, bytes]:
    """Every crafted drawing by name."""
    found = {f"reaching-{name}.svg": _svg(body) for name, body in REACHING.items()}
    for kind in (_entities, _nested, _circles, _numbers, _effects, _bytes):
        found |= {f"{name}.svg": data for name, data in kind()}
    return {name: data for name, data in found.items() if slow or name not in SLOW}


def _svg(body: str) -> bytes:
    return f"{_ROOT}{_MARK}{body}</svg>".encode()


def _entities() -> Iterator[tuple[str, bytes]]:
    laughs = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10 if n else "ha"}">' for n in range(10))
    yield "laughs", f"<!DOCTYPE svg [{laughs}]>{_ROOT}<text>&a9;</text></svg>".encode()
    long = f'<!ENTITY a "{"x" * 100_000}">'
    yield "quadratic", f"<!DOCTYPE svg [{long}]>{_ROOT}<text>{'&a;' * 9_000}</text></svg>".encode()
    outside = '<!ENTITY a SYSTEM "file:///etc/passwd">'
    yield "entity-file", f"<!DOCTYPE svg [{outside}]>{_ROOT}<text>&a;</text></svg>".encode()
    parameter = '<!ENTITY % a SYSTEM "http://192.0.2.1/a.dtd"> %a;'
    yield "entity-parameter", f"<!DOCTYPE svg [{parameter}]>{_ROOT}{_MARK}</svg>".encode()
    dtd = '<!DOCTYPE svg SYSTEM "http://192.0.2.1/svg.dtd">'
    yield "dtd-of-network", f"{dtd}{_ROOT}{_MARK}</svg>".encode()
    sheet = '<?xml-stylesheet href="http://192.0.2.1/a.css"?>'
    yield "style-sheet", f"{sheet}{_ROOT}{_MARK}</svg>".encode()
    include = '<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="file:///etc/passwd"/>'
    yield "include", _svg(include)
    yield "script", _svg("<script>document.write(1)</script>")
    yield "handler", _svg('<rect onload="alert(1)" width="5" height="5"/>')


def _nested() -> Iterator[tuple[str, bytes]]:
    uses = '<g id="u0"><rect width="1" height="1"/></g>' + "".join(
        f'<g id="u{n}">{f"""<use href="#u{n - 1}"/>""" * 10}</g>' for n in range(1, 12)
    )
    yield "uses", _svg(f'<defs>{uses}</defs><use href="#u11"/>')
    yield "use-itself", _svg('<g id="a"><use href="#a"/></g>')
    yield "use-parent", _svg('<g id="a"><g><use href="#b"/></g></g><g id="b"><use href="#a"/></g>')
    yield "deep", _svg("<g>" * 5_000 + "</g>" * 5_000)
    yield "very-deep", _svg("<g>" * 400_000)
    yield "many", _svg('<rect width="1" height="1"/>' * 250_000)
    for kind in ("pattern", "mask", "clipPath", "linearGradient", "filter", "marker"):
        use = 'fill="url(#a)" mask="url(#a)" clip-path="url(#a)" filter="url(#a)"'
        yield (
            f"circle-{kind}",
            _svg(
                f'<{kind} id="a" href="#a" width="1" height="1"><rect {use} width="9" height="9"/>'
                f'</{kind}><rect {use} marker-mid="url(#a)" width="50" height="50"/>'
            ),
        )
    chain = "".join(f'<linearGradient id="g{n}" href="#g{n + 1}"/>' for n in range(5_000))
    yield "gradient-chain", _svg(f'{chain}<rect fill="url(#g0)" width="50" height="50"/>')
    patterns = '<pattern id="p0" width="1" height="1"><rect width="1" height="1"/></pattern>'
    for n in range(1, 9):
        inner = f'<rect fill="url(#p{n - 1})" width="60" height="60"/>' * 8
        patterns += f'<pattern id="p{n}" width="0.1" height="0.1">{inner}</pattern>'
    yield "patterns-within", _svg(f'{patterns}<rect fill="url(#p8)" width="90" height="50"/>')
    masks = "".join(
        f'<mask id="m{n}"><rect mask="url(#m{n + 1})" width="90" height="50" fill="white"/></mask>'
        for n in range(150)
    )
    yield "masks-within", _svg(f'{masks}<rect mask="url(#m0)" width="90" height="50"/>')


def _circles() -> Iterator[tuple[str, bytes]]:
    """Five elements, of which the last names the third: found by fuzzing."""
    rect = '<rect {0}="url(#a{2})" width="9" height="9"/>'
    for name, property_, element in (
        ("mask", "mask", '<mask id="a{1}">' + rect + "</mask>"),
        ("mask-of-mask", "mask", '<mask id="a{1}" mask="url(#a{2})"><rect width="9"/></mask>'),
        ("clip", "clip-path", '<clipPath id="a{1}">' + rect + "</clipPath>"),
        ("clip-of-clip", "clip-path", '<clipPath id="a{1}" clip-path="url(#a{2})"/>'),
        ("pattern", "fill", '<pattern id="a{1}" width="1" height="1">' + rect + "</pattern>"),
        ("pattern-taken", "fill", '<pattern id="a{1}" href="#a{2}"/>'),
        ("linear", "fill", '<linearGradient id="a{1}" href="#a{2}"/>'),
        ("radial", "stroke", '<radialGradient id="a{1}" href="#a{2}"/>'),
        ("filter", "filter", '<filter id="a{1}" href="#a{2}"/>'),
        (
            "filter-image",
            "filter",
            '<filter id="a{1}"><feImage href="#b{1}"/></filter><g id="b{1}">' + rect + "</g>",
        ),
    ):
        chain = "".join(element.format(property_, n, n + 1 if n < 4 else 2) for n in range(5))
        drawn = f'<rect {property_}="url(#a0)" width="50" height="50"/>'
        yield f"circle-late-{name}", _svg(chain + drawn)
    paint = '<pattern id="p" width="1" height="1"><rect width="9" height="9"/></pattern>'
    shape = '<rect width="50" height="50"/>'
    yield "circle-inherited", _svg(f'<g fill="url(#p)">{paint}{shape}</g>')
    text = '<pattern id="p" width="1" height="1"><text y="9" fill="url(#p)">a</text></pattern>'
    yield "circle-text", _svg(f'{text}<rect fill="url(#p)" width="50" height="50"/>')
    mixed = (
        '<mask id="m"><rect fill="url(#p)" width="9" height="9"/></mask>'
        '<pattern id="p" width="1" height="1"><rect mask="url(#m)" width="9" height="9"/></pattern>'
    )
    yield "circle-mixed", _svg(f'{mixed}<rect mask="url(#m)" width="50" height="50"/>')


def _numbers() -> Iterator[tuple[str, bytes]]:
    body = '<rect width="5" height="5"/>'
    for name, attributes in {
        "size-0": 'width="0" height="0"',
        "size-negative": 'width="-5" height="-5"',
        "size-1e300": 'width="1e300" height="1e300"',
        "size-1e-300": 'width="1e-300" height="1e-300"',
        "size-infinite": 'width="1e999" height="1e999"',
        "size-nan": 'width="NaN" height="NaN"',
        "size-thin": 'width="100000" height="0.001"',
        "size-long-number": f'width="{"9" * 100_000}" height="5"',
        "box-nan": 'viewBox="0 0 nan nan"',
        "box-infinite": 'viewBox="0 0 inf 1e308"',
        "box-tiny": 'width="9" height="9" viewBox="0 0 1e-40 1e-40"',
        "box-huge": 'width="9" height="9" viewBox="-1e38 -1e38 2e38 2e38"',
        "box-thin": 'viewBox="0 0 1e9 1"',
        "box-words": 'viewBox="a b c d"',
    }.items():
        yield name, f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{body}</svg>'.encode()
    path = " ".join(f"L{n % 100} {n * 7 % 60}" for n in range(150_000))
    yield "path-of-150000", _svg(f'<path d="M0 0 {path}" fill="none" stroke="#000"/>')
    yield "path-infinite", _svg('<path d="M0 0 L1e39 1e39 L-1e39 5 Z"/>')
    yield "path-arcs", _svg('<path d="M0 0 A1e-30 1e30 9e9 1 1 50 50"/>')
    for dash in ("1e-9", "0.0001 0", "1e-40 1e-40"):
        yield (
            f"dash-{dash.split()[0]}",
            _svg(f'<path d="M0 0H100V60H0Z" stroke="#000" stroke-dasharray="{dash}" fill="none"/>'),
        )
    yield "stroke-1e30", _svg('<path d="M0 0H50" stroke="#000" stroke-width="1e30"/>')
    # Found by fuzzing: the renderer's own arithmetic stops it.
    wide = '<svg xmlns="http://www.w3.org/2000/svg" width="1000" height="4">'
    path = '<path d="M0 0H501" stroke="#000" stroke-width="1e30"/>'
    yield "stroke-1e30-across", f"{wide}{path}</svg>".encode()
    yield (
        "transform-0",
        _svg('<g transform="scale(0) rotate(1e308)"><rect width="5" height="5"/></g>'),
    )
    yield "transform-many", _svg(f'<g transform="{"scale(1.1) " * 50_000}">{body}</g>')


def _effects() -> Iterator[tuple[str, bytes]]:
    for name, effect in {
        "blur-1e9": '<feGaussianBlur stdDeviation="1e9"/>',
        "blur-chain": '<feGaussianBlur stdDeviation="30"/>' * 60,
        "turbulence": '<feTurbulence baseFrequency="9" numOctaves="1000000000"/>',
        "morphology": '<feMorphology operator="dilate" radius="100000"/>',
        "convolve": f'<feConvolveMatrix order="60" kernelMatrix="{"1 " * 3600}"/>',
        "displacement": '<feDisplacementMap in2="SourceGraphic" scale="1e30"/>',
        "tile": '<feFlood x="0" y="0" width="1e-5" height="1e-5"/><feTile/>',
        "table": f'<feComponentTransfer><feFuncR type="table" tableValues="{"1 " * 99_999}"/>'
        "</feComponentTransfer>",
    }.items():
        yield (
            f"effect-{name}",
            _svg(
                f'<filter id="f" x="-5" y="-5" width="99" height="99">{effect}</filter>'
                '<rect filter="url(#f)" width="90" height="50"/>'
            ),
        )
    tiny = '<pattern id="p" width="1e-6" height="1e-6" patternUnits="userSpaceOnUse">'
    yield (
        "pattern-tiny",
        _svg(
            f'{tiny}<rect width="1" height="1"/></pattern><rect fill="url(#p)" width="90" height="50"/>'
        ),
    )
    yield (
        "markers",
        _svg(
            '<marker id="m"><rect width="9" height="9"/></marker>'
            f'<path marker-mid="url(#m)" d="M0 0{"h1" * 50_000}"/>'
        ),
    )
    yield "text-long", _svg(f'<text y="30">{"word " * 100_000}</text>')
    yield (
        "text-sizes",
        _svg('<text y="30" font-size="1e30">a</text><text font-size="1e-30">b</text>'),
    )
    families = "".join(f'<tspan font-family="F{n}">a</tspan>' for n in range(3_000))
    yield "text-families", _svg(f'<text y="30">{families}</text>')
    yield "text-controls", _svg('<text y="30" font-family="&#27;[31m\u202e&#10;x">a</text>')


def _bytes() -> Iterator[tuple[str, bytes]]:
    header = (60_000).to_bytes(4) + (60_000).to_bytes(4) + b"\x08\x06\0\0\0"
    bomb = PNG_SIGNATURE + png_chunk(b"IHDR", header)
    bomb += png_chunk(b"IDAT", zlib.compress(bytes(20_000_000), 9)) + png_chunk(b"IEND", b"")
    packed = base64.b64encode(bomb).decode()
    yield (
        "picture-bomb",
        _svg(f'<image href="data:image/png;base64,{packed}" width="9" height="9"/>'),
    )
    yield "picture-rubbish", _svg('<image href="data:image/png;base64,!!!" width="9" height="9"/>')
    sound = _svg("")
    yield "gzip-bomb", gzip.compress(b" " * 80_000_000)
    yield "gzip-twice", gzip.compress(gzip.compress(sound))
    yield "gzip-broken", gzip.compress(sound)[:-9]
    yield "utf-16", sound.decode().encode("utf-16")
    yield "utf-7", b'<?xml version="1.0" encoding="utf-7"?>' + sound
    yield "encoding-unknown", b'<?xml version="1.0" encoding="no-such"?>' + sound
    yield "nul-bytes", sound.replace(b"rect", b"re\x00ct")
    yield "invalid-utf-8", sound.replace(b"c81e28", b"\xff\xfe\xfd")
    yield "two-roots", sound + sound
    yield "half-a-name", sound.replace(b"xmlns=", b"xmlns:a=")
    names = " ".join(f"a{n}='1'" for n in range(100_000))
    yield "attributes", _svg(f"<g {names}/>")
