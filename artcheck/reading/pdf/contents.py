"""What a page is made of: followed through its content streams and the forms they draw."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from artcheck.errors import TooLargeArtError
from artcheck.reading.budget import MOST_FORMS, MOST_TILES
from artcheck.reading.pdf.isolate import trim_box

if TYPE_CHECKING:
    import pikepdf

_DEPTH = 24
"""Forms nested deeper than this are no drawing program's."""

_PAINTING = {"f", "F", "f*", "B", "B*", "b", "b*", "S", "s", "sh"}
_SHOWING = {"Tj", "TJ", "'", '"'}
_CMYK_COLOUR = {"k", "K"}

Matrix = tuple[float, float, float, float]


@dataclass(slots=True)
class Contents:
    """Counted over a page and the forms that it draws.

    ``finest`` is the most pixels that an embedded picture has along one unit of the page.
    ``undrawn`` says in words what cannot be drawn; ``within`` are the forms being looked through;
    ``area`` is the page's, in its units.
    """

    shapes: int = 0
    finest: float | None = None
    image_sizes: list[tuple[int, int]] = field(default_factory=list)
    fonts: tuple[str, ...] = ()
    missing_fonts: tuple[str, ...] = ()
    spaces: list[Any] = field(default_factory=list)
    uses_cmyk: bool = False
    undrawn: list[str] = field(default_factory=list)
    streams: list[Any] = field(default_factory=list)
    within: list[tuple[int, int]] = field(default_factory=list)
    name: str = ""
    area: float = 0.0

    @property
    def wraps_bitmap(self) -> bool:
        """The page shows pictures and nothing else."""
        return bool(self.image_sizes) and self.shapes == 0 and not self.fonts


def contents_of(page: pikepdf.Page, name: str = "it") -> Contents:
    """Look through one page. Damaged parts are told as not drawn; circles are cut open.

    Raises
    ------
    TooLargeArtError
        Drawing it would be more work than the budgets allow.
    """
    left, bottom, right, top = trim_box(page)
    found = Contents(name=name, area=(right - left) * (top - bottom))
    _walk(page, _own(page.obj, "/Resources"), found, (1, 0, 0, 1), _DEPTH)
    for annotation in page.obj.get("/Annots", []):
        if annotation.get("/Subtype") == "/Widget":
            found.undrawn.append("a form field")
    found.fonts = tuple(dict.fromkeys(found.fonts))
    found.missing_fonts = tuple(dict.fromkeys(found.missing_fonts))
    return found


def _own(obj: Any, key: str) -> Any:
    """An entry that a page may have from its parents in the tree."""
    while obj is not None:
        if key in obj:
            return obj[key]
        obj = obj.get("/Parent")
    return None


def _walk(stream: Any, resources: Any, found: Contents, matrix: Matrix, depth: int) -> None:
    """One content stream; ``matrix`` maps its units to the page's, without their place."""
    import pikepdf

    resources = pikepdf.Dictionary() if resources is None else resources
    found.spaces += _spaces(resources)
    found.uses_cmyk |= any(_is_cmyk(space) for space in _spaces(resources))
    _check_tiles(resources, found)
    try:
        instructions = pikepdf.parse_content_stream(stream)
    except (pikepdf.PdfError, ValueError, TypeError):
        found.undrawn.append("a damaged part")
        return
    saved: list[Matrix] = []
    for instruction in instructions:
        operator = str(instruction.operator)
        if operator == "q":
            saved.append(matrix)
        elif operator == "Q":
            matrix = saved.pop() if saved else matrix
        elif operator == "cm":
            matrix = _times(instruction.operands, matrix)
        elif operator == "Do":
            _drawn(str(instruction.operands[0]), resources, found, matrix, depth)
        else:
            _counted(operator, instruction, resources, found, matrix)


def _counted(
    operator: str, instruction: Any, resources: Any, found: Contents, matrix: Matrix
) -> None:
    if operator in _PAINTING:
        found.shapes += 1
    elif operator in _CMYK_COLOUR:
        found.uses_cmyk = True
    elif operator in ("cs", "CS") and instruction.operands:
        found.uses_cmyk |= _is_cmyk(instruction.operands[0])
    elif operator == "Tf" and instruction.operands:
        _font(str(instruction.operands[0]), resources, found)
    elif operator == "INLINE IMAGE":
        image = instruction.iimage
        _picture(int(image.width), int(image.height), found, matrix)


def _times(operands: Any, matrix: Matrix) -> Matrix:
    try:
        a, b, c, d = (float(value) for value in list(operands)[:4])
    except (TypeError, ValueError):
        return matrix
    m, n, o, p = matrix
    return a * m + b * o, a * n + b * p, c * m + d * o, c * n + d * p


# --- pictures and forms -------------------------------------------------------------------------


def _drawn(name: str, resources: Any, found: Contents, matrix: Matrix, depth: int) -> None:
    stream = resources.get("/XObject", {}).get(name)
    kind = stream.get("/Subtype") if _is_stream(stream) else None
    if kind == "/Image":
        _image(stream, found, matrix)
    elif kind == "/Form" and stream.objgen in found.within:
        found.undrawn.append("a part that draws itself")
        del resources["/XObject"][name]  # the renderer would not come out of the circle
    elif kind == "/Form":
        _form(stream, resources, found, matrix, depth)
    else:
        found.undrawn.append("a part that is missing from the file")


def _form(stream: Any, resources: Any, found: Contents, matrix: Matrix, depth: int) -> None:
    found.streams.append(stream)
    if depth == 0 or len(found.streams) > MOST_FORMS:
        raise _too_much(found)
    found.within.append(stream.objgen)
    inner = _times(stream.get("/Matrix", [1, 0, 0, 1]), matrix)
    _walk(stream, stream.get("/Resources", resources), found, inner, depth - 1)
    found.within.pop()


def _too_much(found: Contents) -> TooLargeArtError:
    return TooLargeArtError(
        f"{found.name} draws too many parts within each other, or too small ones. Flatten it, or"
        " send a PNG."
    )


def _check_tiles(resources: Any, found: Contents) -> None:
    """Refuse patterns whose steps are dust (ISO 32000-1, 8.7.3: XStep, YStep, Matrix)."""
    for pattern in named(resources, "/Pattern"):
        steps = [pattern.get(key) for key in ("/XStep", "/YStep")]
        if None in steps:
            continue
        matrix = _times(pattern.get("/Matrix", [1, 0, 0, 1]), (1, 0, 0, 1))
        enlarged = abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])
        tile = abs(float(steps[0]) * float(steps[1])) * enlarged
        if tile > 0 and found.area / tile > MOST_TILES:
            raise _too_much(found)


def _is_stream(obj: Any) -> bool:
    import pikepdf

    return isinstance(obj, pikepdf.Stream)


def _image(stream: Any, found: Contents, matrix: Matrix) -> None:
    space = stream.get("/ColorSpace")
    if space is not None:
        found.spaces.append(space)
        found.uses_cmyk |= _is_cmyk(space)
    if stream.get("/ImageMask", False):
        found.shapes += 1  # a stencil filled with ink
        return
    _picture(int(stream.get("/Width", 0)), int(stream.get("/Height", 0)), found, matrix)
    if not _decodes(stream):
        found.undrawn.append("a damaged picture")


def _picture(width: int, height: int, found: Contents, matrix: Matrix) -> None:
    """An image fills the unit square of its matrix."""
    found.image_sizes.append((width, height))
    across = (matrix[0] ** 2 + matrix[1] ** 2) ** 0.5
    if across > 0 and width > 0:
        found.finest = max(found.finest or 0.0, width / across)


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


def _font(name: str, resources: Any, found: Contents) -> None:
    font = resources.get("/Font", {}).get(name)
    if font is None:
        return
    title = str(font.get("/BaseFont", "/unnamed")).lstrip("/")
    inner = font.get("/DescendantFonts")
    descriptor = (inner[0] if inner else font).get("/FontDescriptor", {})
    embedded = any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
    found.fonts = (*found.fonts, title)
    if not embedded and font.get("/Subtype") != "/Type3":
        found.missing_fonts = (*found.missing_fonts, title)


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
