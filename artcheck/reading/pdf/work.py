"""How much work a page is, counted before it is drawn; circles are cut open.

A renderer runs a stream again wherever it is named: forms, tiles of patterns, glyphs that are
drawn, soft masks, looks of annotations (ISO 32000-1, 8.10, 8.7.3, 9.6.5, 11.6.5.3, 12.5.5). Twelve
that each name the next ten times are a page of a few kilobytes that is never done.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from itertools import count
from operator import setitem
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from artcheck.errors import TooLargeArtError
from artcheck.reading.budget import MOST_OPERATORS, MOST_PIXELS
from artcheck.reading.pdf.isolate import trim_box
from artcheck.reading.pdf.scope import Scope, page_scope
from artcheck.reading.pdf.steps import (
    FILL_COLOURS,
    SHOWING,
    STROKE_COLOURS,
    Matrix,
    Place,
    Streams,
    is_dictionary,
    is_stream,
    matrix_of,
    place_of,
)

if TYPE_CHECKING:
    import pikepdf

_DEPTH: Final = 24
"""Streams nested deeper than this are no drawing program's."""

# What things cost beside their operators, in operators of about a microsecond each (measured with
# pdfium on pages drawn at `RENDER_SIDE`, for parts that cover a small share of the page).
_FORM: Final = 500.0
_GLYPH: Final = 50.0
_PASS: Final = 500.0
"""To lay a mask, or a layer of a pattern's tiles, over what is painted."""
_TILE: Final = 0.02
_PIXEL: Final = 0.01


class Cost(NamedTuple):
    """Operators that something takes.

    ``tiled`` is the part that grows as its own space shrinks: given for a space whose unit covers
    as much as the page's.
    """

    fixed: float = 0.0
    tiled: float = 0.0

    def plus(self, other: Cost) -> Cost:
        """Both, one after the other."""
        if other is _NOTHING:
            return self
        return Cost(self.fixed + other.fixed, self.tiled + other.tiled)

    def times(self, count: float) -> Cost:
        """As often as that."""
        return Cost(self.fixed * count, self.tiled * count)

    def scaled(self, area: float) -> Cost:
        """Drawn in a space whose unit covers ``area`` of one outside."""
        return Cost(self.fixed, self.tiled / area) if area > 0 else Cost(self.fixed)


_NOTHING: Final = Cost()


@dataclass(slots=True)
class Work:
    """What was found on the way.

    ``streams``: all that are run, each once, the page first, with what their names lead to.
    ``resources``: of these each once. ``undrawn`` says in words what cannot be drawn.
    """

    streams: list[tuple[Any, Scope]] = field(default_factory=list)
    resources: list[Any] = field(default_factory=list)
    undrawn: list[str] = field(default_factory=list)


class _Reference(NamedTuple):
    """What a name leads to, and how to take that reference out."""

    entry: Any
    cut: Callable[[], object]


class _State(NamedTuple):
    """What the graphics state adds to each painting; ``area`` covered by a unit of space."""

    fill: Cost = _NOTHING
    stroke: Cost = _NOTHING
    mask: Cost = _NOTHING
    glyph: Cost = _NOTHING
    area: float = 1.0


def check_work(page: pikepdf.Page, resources: Any, streams: Streams, name: str) -> Work:
    """Count operators with every stream followed, so that nesting cannot multiply work.

    A reference that leads into a circle is taken out of the page.

    Raises
    ------
    TooLargeArtError
        More operators, or nested deeper, than the budgets.
    """
    counted = _Counted(page, resources, streams, name)
    total = counted.run(page, counted.page)
    for annotation in page.obj.get("/Annots", []):
        for look in _looks(annotation):
            total = total.plus(counted.within(look, counted.page))
    counted.check(total)
    return counted.found


class _Counted:
    def __init__(self, page: pikepdf.Page, resources: Any, streams: Streams, name: str) -> None:
        left, bottom, right, top = trim_box(page)
        self._area = (right - left) * (top - bottom)
        self.page = page_scope(resources, place_of(page))
        self.found = Work([(page, self.page)])
        self._streams, self._name, self._path = streams, name, [place_of(page)]
        self._costs: dict[tuple[Place, tuple[Place, Place]], Cost] = {}
        self._named: dict[tuple[tuple[Place, Place], str, str | None], Cost] = {}
        self._met: set[Place] = set()
        self._owners: set[Place] = set()
        self._walked = 0
        self._note(self.page)
        self._unplaced = ((-number, 0) for number in count(1))

    def check(self, cost: Cost) -> None:
        if not cost.fixed + cost.tiled <= MOST_OPERATORS:
            raise TooLargeArtError(
                f"{self._name} draws too many parts within each other, or too small ones."
                " Flatten it, or send a PNG."
            )

    def _note(self, scope: Scope) -> Scope:
        if scope.owner[0] not in self._owners:
            self._owners.add(scope.owner[0])
            self.found.resources.append(scope.resources)
        return scope

    def run(self, stream: Any, scope: Scope) -> Cost:
        """To run a stream once, in its own space."""
        steps = self._streams.steps(stream)
        self._walked += steps.operators
        self.check(Cost(self._walked))
        cost, state = Cost(steps.operators), _State()
        saved: list[_State] = []
        for operator, operand in steps.kept:
            if operator == "q":
                saved.append(state)
            elif operator == "Q":
                state = saved.pop() if saved else state
            elif operator == "cm":
                state = state._replace(area=state.area * _area(operand))
            elif operator in _SETTING:
                state = self._set(state, operator, operand, scope)
            elif (more := self._painted(state, operator, operand, scope)) is not _NOTHING:
                cost = cost.plus(more)
        self.check(cost)
        return cost

    def _painted(self, state: _State, operator: str, operand: Any, scope: Scope) -> Cost:
        """What painting costs beside the operator itself."""
        cost = state.fill.plus(state.stroke)
        if operator in SHOWING:
            cost = cost.plus(state.glyph).times(operand)
        elif operator == "Do":
            drawn = self._lookup(scope, "/XObject", operand, self._drawn)
            cost = cost.plus(drawn.scaled(state.area))
        return cost.plus(state.mask)

    def _set(self, state: _State, operator: str, operand: str | None, scope: Scope) -> _State:
        if operator == "Tf":
            return state._replace(glyph=self._lookup(scope, "/Font", operand, self._glyph))
        if operator == "gs":
            masked = self._lookup(scope, "/ExtGState", operand, self._mask)
            return state if masked is _KEPT else state._replace(mask=masked.scaled(state.area))
        tiled = _NOTHING
        if operator in ("scn", "SCN") and operand is not None:
            tiled = self._lookup(scope, "/Pattern", operand, self._tiles)
        if operator in FILL_COLOURS:
            return state if tiled is state.fill else state._replace(fill=tiled)
        return state if tiled is state.stroke else state._replace(stroke=tiled)

    def _lookup(
        self,
        scope: Scope,
        kind: str,
        name: str | None,
        look: Callable[[_Reference, Scope], Cost],
    ) -> Cost:
        key = (scope.owner, kind, name)
        if name is not None and key not in self._named:
            self._named[key] = look(self._reference(scope, kind, name), scope)
        return self._named.get(key, _NOTHING)

    def _reference(self, scope: Scope, kind: str, name: str) -> _Reference:
        import pikepdf

        holder = scope.holder(kind)
        cut = partial(_remove, holder, name)
        if not is_dictionary(scope.resources.get(kind)):  # what was lent stays where it is
            cut = partial(setitem, scope.resources, kind, pikepdf.Dictionary())
        return _Reference(holder.get(name), cut)

    # --- what a name leads to -------------------------------------------------------------------

    def _drawn(self, named: _Reference, scope: Scope) -> Cost:
        entry = named.entry
        kind = entry.get("/Subtype") if is_stream(entry) else None
        if kind == "/Image":
            pixels = int(entry.get("/Width", 0)) * int(entry.get("/Height", 0))
            return Cost(_PIXEL * min(max(pixels, 0), MOST_PIXELS))
        if kind != "/Form":
            return _NOTHING
        cost = self.within(named, scope).plus(Cost(_FORM))
        return cost.scaled(_area(matrix_of(entry.get("/Matrix", [1, 0, 0, 1]))))

    def within(self, named: _Reference, scope: Scope) -> Cost:
        """A stream, run once; nothing for one that is cut out."""
        place = place_of(named.entry)
        if place in self._path:
            self.found.undrawn.append("a part that draws itself")
            named.cut()  # the renderer would not come out of the circle
            return _NOTHING
        if len(self._path) > _DEPTH:
            self.check(Cost(float("inf")))
        inner = self._note(scope.own(named.entry.get("/Resources"), place))
        if (key := (place, inner.owner)) not in self._costs:
            if place not in self._met:
                self._met.add(place)
                self.found.streams.append((named.entry, inner))
            self._path.append(place)
            self._costs[key] = self.run(named.entry, inner)
            self._path.pop()
        return self._costs[key]

    def _mask(self, named: _Reference, scope: Scope) -> Cost:
        if not is_dictionary(named.entry) or "/SMask" not in named.entry:
            return _KEPT
        mask = named.entry["/SMask"]
        if not is_dictionary(mask) or not is_stream(mask.get("/G")):
            return _NOTHING
        group = _Reference(mask["/G"], partial(_remove, named.entry, "/SMask"))
        return self.within(group, scope.lending(self.page)).plus(Cost(_PASS))

    def _tiles(self, named: _Reference, scope: Scope) -> Cost:
        """To fill something with a pattern (ISO 32000-1, 8.7.3: BBox, XStep, YStep, Matrix)."""
        entry = named.entry
        if not is_stream(entry):
            return _NOTHING
        tile = self.within(named, scope.lending(None)).plus(Cost(_PASS))
        step = abs(float(entry.get("/XStep", 0)) * float(entry.get("/YStep", 0)))
        if step == 0:
            return tile
        left, bottom, right, top = map(float, entry.get("/BBox", [0, 0, 0, 0]))
        layers = max(1.0, abs((right - left) * (top - bottom)) / step)
        spread = Cost(0.0, _TILE * self._area / step)
        cost = tile.times(layers).plus(spread)
        return cost.scaled(_area(matrix_of(entry.get("/Matrix", [1, 0, 0, 1]))))

    def _glyph(self, named: _Reference, scope: Scope) -> Cost:
        """The dearest glyph of a font whose glyphs are drawn."""
        font = named.entry
        if not is_dictionary(font) or font.get("/Subtype") != "/Type3":
            return _NOTHING
        inner = self._note(scope.font(font.get("/Resources"), next(self._unplaced)))
        costs = [self.within(glyph, inner) for glyph in _streams_of(font.get("/CharProcs"))]
        return max(costs, key=sum, default=_NOTHING).plus(Cost(_GLYPH))


_KEPT: Final = Cost(-1.0)
"""Of a graphics state that leaves the mask as it is."""

_SETTING: Final = FILL_COLOURS | STROKE_COLOURS | {"Tf", "gs"}


def _looks(annotation: Any) -> Iterator[_Reference]:
    """How an annotation looks, or how in each of its states."""
    looks = annotation.get("/AP") if is_dictionary(annotation) else None
    look = looks.get("/N") if looks is not None and is_dictionary(looks) else None
    if is_stream(look):
        yield _Reference(look, partial(_remove, looks, "/N"))
    else:
        yield from _streams_of(look)


def _streams_of(holder: Any) -> Iterator[_Reference]:
    for key, entry in sorted(dict(holder).items()) if is_dictionary(holder) else ():
        if is_stream(entry):
            yield _Reference(entry, partial(_remove, holder, key))


def _remove(holder: Any, key: str) -> None:
    if key in holder:  # else it is out already, by another way there
        del holder[key]


def _area(matrix: Matrix) -> float:
    a, b, c, d = matrix
    return abs(a * d - b * c)
