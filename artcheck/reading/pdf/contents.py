"""What a page is made of, looked for in every stream that is run to draw it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from artcheck.reading.pdf.scope import Scope
from artcheck.reading.pdf.steps import (
    INLINE_IMAGE,
    PAINTING,
    WHOLE,
    Matrix,
    Place,
    Streams,
    is_dictionary,
    is_stream,
    matrix_of,
    place_of,
    times,
)
from artcheck.reading.pdf.work import check_work

if TYPE_CHECKING:
    import pikepdf

_CMYK_COLOUR = {"k", "K"}
_CHOOSING = {"cs", "CS"}


@dataclass(slots=True)
class Contents:
    """What a page and all streams that are run to draw it hold.

    ``paints``: there is more than pictures. ``finest`` is the most pixels that an embedded picture
    has along one unit of the page; pictures in tiles, glyphs and masks do not count there.
    ``undrawn`` says in words what cannot be drawn; ``streams`` are those beside the page's own, and
    ``resources`` what all use, each once.
    """

    paints: bool = False
    finest: float | None = None
    image_sizes: list[tuple[int, int]] = field(default_factory=list)
    fonts: dict[str, None] = field(default_factory=dict)
    missing_fonts: dict[str, None] = field(default_factory=dict)
    spaces: list[Any] = field(default_factory=list)
    uses_cmyk: bool = False
    undrawn: list[str] = field(default_factory=list)
    streams: list[Any] = field(default_factory=list)
    resources: list[Any] = field(default_factory=list)

    @property
    def wraps_bitmap(self) -> bool:
        """The page shows pictures and nothing else."""
        return bool(self.image_sizes) and not self.paints and not self.fonts


def contents_of(page: pikepdf.Page, name: str = "it") -> Contents:
    """Look through one page. Damaged parts are told as not drawn; circles are cut open.

    Raises
    ------
    TooLargeArtError
        Drawing it would be more work than the budgets allow.
    """
    import pikepdf

    resources = _own(page.obj, "/Resources")
    resources = resources if is_dictionary(resources) else pikepdf.Dictionary()
    streams = Streams()
    work = check_work(page, resources, streams, name)
    found = Contents(undrawn=work.undrawn, resources=work.resources)
    found.streams += [stream for stream, _ in work.streams[1:]]
    found.spaces += [space for resources in work.resources for space in _spaces(resources)]
    found.uses_cmyk = any(map(_is_cmyk, found.spaces))
    look = _Look(streams, found)
    for stream, scope in work.streams:
        look.at(stream, scope)
    look.measure(*work.streams[0], WHOLE)
    for annotation in page.obj.get("/Annots", []):
        if annotation.get("/Subtype") == "/Widget":
            found.undrawn.append("a form field")
    return found


def _own(obj: Any, key: str) -> Any:
    """An entry that a page may have from its parents in the tree."""
    while obj is not None:
        if key in obj:
            return obj[key]
        obj = obj.get("/Parent")
    return None


@dataclass(frozen=True, slots=True)
class _Look:
    streams: Streams
    found: Contents
    seen: set[Place] = field(default_factory=set)

    def at(self, stream: Any, scope: Scope) -> None:
        """One stream by itself."""
        found, steps = self.found, self.streams.steps(stream)
        if steps.damaged:
            found.undrawn.append("a damaged part")
        for operator, operand in dict.fromkeys(steps.kept):
            if operator in PAINTING:
                found.paints = True
            elif operator in _CMYK_COLOUR or (operator in _CHOOSING and operand == "/DeviceCMYK"):
                found.uses_cmyk = True
            elif operator == "Tf":
                _font(scope.holder("/Font").get(operand or ""), found)
            elif operator == "Do":
                self._drawn(scope.holder("/XObject").get(operand or ""))
            elif operator == INLINE_IMAGE:
                found.image_sizes.append(operand)

    def _drawn(self, entry: Any) -> None:
        kind = entry.get("/Subtype") if is_stream(entry) else None
        if kind == "/Image":
            if (place := place_of(entry)) not in self.seen:
                self.seen.add(place)
                _image(entry, self.found)
        elif kind != "/Form":
            self.found.undrawn.append("a part that is missing from the file")

    def measure(self, stream: Any, scope: Scope, matrix: Matrix) -> None:
        """Pictures by their size on the page, each as often as it is drawn.

        ``matrix`` maps the stream's units to the page's. That this comes to an end `check_work` has
        seen.
        """
        saved: list[Matrix] = []
        for operator, operand in self.streams.steps(stream).kept:
            if operator == "q":
                saved.append(matrix)
            elif operator == "Q":
                matrix = saved.pop() if saved else matrix
            elif operator == "cm":
                matrix = times(operand, matrix)
            elif operator == INLINE_IMAGE:
                self._spread(operand[0], matrix)
            elif operator == "Do":
                entry = scope.holder("/XObject").get(operand or "")
                self._measured(entry, scope, matrix)

    def _measured(self, entry: Any, scope: Scope, matrix: Matrix) -> None:
        kind = entry.get("/Subtype") if is_stream(entry) else None
        if kind == "/Image" and not entry.get("/ImageMask", False):
            self._spread(int(entry.get("/Width", 0)), matrix)
        elif kind == "/Form":
            inner = times(matrix_of(entry.get("/Matrix", [1, 0, 0, 1])), matrix)
            self.measure(entry, scope.own(entry.get("/Resources"), place_of(entry)), inner)

    def _spread(self, width: int, matrix: Matrix) -> None:
        """An image fills the unit square of its matrix."""
        across = (matrix[0] ** 2 + matrix[1] ** 2) ** 0.5
        if across > 0 and width > 0:
            self.found.finest = max(self.found.finest or 0.0, width / across)


# --- pictures -----------------------------------------------------------------------------------


def _image(stream: Any, found: Contents) -> None:
    space = stream.get("/ColorSpace")
    if space is not None:
        found.spaces.append(space)
        found.uses_cmyk |= _is_cmyk(space)
    if stream.get("/ImageMask", False):
        found.paints = True  # a stencil filled with ink
        return
    found.image_sizes.append((int(stream.get("/Width", 0)), int(stream.get("/Height", 0))))
    if not _decodes(stream):
        found.undrawn.append("a damaged picture")


def _decodes(stream: Any) -> bool:
    """Whether a picture's general packing opens; picture codecs are left to the renderer."""
    import pikepdf

    codecs = {"/DCTDecode", "/JPXDecode", "/JBIG2Decode", "/CCITTFaxDecode"}
    filters = stream.get("/Filter", [])
    if codecs & set(map(str, filters if isinstance(filters, pikepdf.Array) else [filters])):
        return True
    try:
        stream.read_bytes()
    except (pikepdf.PdfError, RuntimeError):
        return False
    return True


# --- fonts and colour spaces --------------------------------------------------------------------


def _font(font: Any, found: Contents) -> None:
    if font is None:
        return
    title = str(font.get("/BaseFont", "/unnamed")).lstrip("/")
    inner = font.get("/DescendantFonts")
    descriptor = (inner[0] if inner else font).get("/FontDescriptor", {})
    embedded = any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
    found.fonts[title] = None
    if not embedded and font.get("/Subtype") != "/Type3":
        found.missing_fonts[title] = None


def named(resources: Any, key: str) -> list[Any]:
    """Entries of a dictionary of resources, by name: the library gives them in changing order."""
    entries = dict(resources.get(key, {}))
    return [entries[name] for name in sorted(entries)]


def _spaces(resources: Any) -> Iterator[Any]:
    """Colour spaces that the resources name, those of shadings among them."""
    yield from named(resources, "/ColorSpace")
    for shading in named(resources, "/Shading"):
        if "/ColorSpace" in shading:
            yield shading["/ColorSpace"]
    for pattern in named(resources, "/Pattern"):
        if "/ColorSpace" in pattern.get("/Shading", {}):
            yield pattern["/Shading"]["/ColorSpace"]


def _is_cmyk(space: Any) -> bool:
    """Ink amounts for no press in particular."""
    import pikepdf

    if isinstance(space, pikepdf.Array):
        nested = len(space) > 1 and space[0] in ("/Indexed", "/Pattern")
        return (len(space) == 1 and _is_cmyk(space[0])) or (nested and _is_cmyk(space[1]))
    return bool(space == "/DeviceCMYK")
