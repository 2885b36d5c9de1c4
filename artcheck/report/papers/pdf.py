"""A paper as PDF: true page size, embedded fonts, text that can be selected and read back."""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from artcheck.plain import plain
from artcheck.report.papers.blocks import Art, Paper

if TYPE_CHECKING:
    import typst

_LAYOUT, _MAIN = "paper.typ", "main.typ"
_PAGES = {"letter": "us-letter", "a4": "a4"}

_WITHOUT_FONT = re.compile(r'the text `"(.+?)"` could not be displayed')
"""What the typesetter says of a character that no font has, when held to the archive format."""

_PICTURE = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    ' width="{0.width_px}" height="{0.height_px}"><image width="{0.width_px}"'
    ' height="{0.height_px}" xlink:href="{0.uri}"/></svg>'
)
"""A picture as text: the typesetter takes files from memory if they are text. It stands in the PDF
with its own pixels."""


def paper_pdf(paper: Paper) -> tuple[bytes, str]:
    """The paper as PDF, the same bytes each time; and the characters that no font here can show.

    The machine's own fonts stand in for writing systems that the typesetter's fonts lack. Nothing
    lies on the disk meanwhile: a crash leaves nothing of a customer's behind.
    """
    data = _plain(asdict(paper)) | {"paper": _PAGES[paper.page]}
    files = {_MAIN: (resources.files("artcheck.report") / "templates" / _LAYOUT).read_bytes()}
    for number, (block, made) in enumerate(zip(paper.blocks, data["blocks"], strict=True)):
        if isinstance(block, Art):
            made["picture"] = f"{number}.svg"
            files[made["picture"]] = _PICTURE.format(block.picture).encode()
    files["paper.json"] = json.dumps(data).encode()
    made_pdf = _compiler(files).compile(format="pdf")
    assert isinstance(made_pdf, bytes)
    return made_pdf, _unshown(files)


def _compiler(files: dict[str, bytes]) -> typst.Compiler:
    """For one compilation: a second one of the same compiler does not find the files."""
    import typst

    return typst.Compiler(files, font_paths=_fonts(), ignore_system_fonts=True)  # type: ignore[type-var]  # its stub forgets files from memory


@lru_cache(maxsize=1)
def _fonts() -> typst.Fonts:
    """The typesetter's own fonts and the machine's, looked for once."""
    import typst

    return typst.Fonts()


def _unshown(files: dict[str, bytes]) -> str:
    """The characters that come out as empty boxes: the archive format refuses them."""
    import typst

    try:
        _compiler(files).compile(format="pdf", pdf_standards=["a-2b"], timestamp=0)
    except typst.TypstError as refused:
        found = _WITHOUT_FONT.findall(str(refused.diagnostic))
        return "".join(dict.fromkeys("".join(found)))
    return ""


LONGEST_UNBROKEN = 26
"""Letters of a word that fit the narrowest column: longer ones (file names) may break."""

LONGEST_ADDRESS = 50
"""An address is copied out of the PDF and must not be broken while half a page holds it."""

_LONG_WORD = re.compile(rf"\S{{{LONGEST_UNBROKEN + 1},}}")
_PIECE = re.compile(rf"[^_./]{{1,{LONGEST_UNBROKEN}}}[_./]*|[_./]+")
_MAY_BREAK = "\u200b"
"""ZERO WIDTH SPACE: the typesetter has no other way to break a word."""


def _breakable(text: str) -> str:
    """Long words may break after a stop, stroke or underscore, else after so many letters."""
    return _LONG_WORD.sub(_broken, text)


def _broken(word: re.Match[str]) -> str:
    address = "@" in word[0] and len(word[0]) <= LONGEST_ADDRESS
    return word[0] if address else _MAY_BREAK.join(_PIECE.findall(word[0]))


def _plain(value: Any) -> Any:
    """Every text through `plain`; pictures left to files of their own."""
    if isinstance(value, str):
        return _breakable(plain(value))
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items() if key != "picture"}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value
