"""What the elements of a drawing have drawn by another, or take from it: found by its id.

Paints and markers pass from parents to children (SVG 1.1, 6.2): what counts is what a shape is
drawn with, wherever that is stated.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final, NamedTuple
from xml.etree.ElementTree import Element

from artcheck.reading.svg.styles import Styled, styled
from artcheck.reading.svg.tags import DRAWN_SHAPES, HREFS, URL_TARGET, local

_DECLARED: Final = re.compile(
    r"(?<![\w-])(fill|stroke|marker(?:-start|-mid|-end)?|mask|clip-path|filter)\s*:([^;]*)"
)
_MARKERS: Final = ("marker-start", "marker-mid", "marker-end")
_INHERITED: Final = ("fill", "stroke", *_MARKERS)
_NAMES: Final = frozenset({*_INHERITED, "mask", "clip-path", "filter"})

_NAMING: Final = frozenset(
    {"use", "linearGradient", "radialGradient", "pattern", "filter", "feImage"}
)
"""Elements that copy the one they name, or take from it what they lack."""

_PAINTED: Final = DRAWN_SHAPES | {"tspan", "textPath", "use"}
_STEPS: Final = re.compile(r"[A-Za-z]|-?[\d.]+[\s,]+-?[\d.]+")


class Reference(NamedTuple):
    """An id, how often its element is drawn, whether as a copy (``use``), whether by a parent."""

    key: str
    times: int = 1
    copied: bool = False
    inherited: bool = False


Keys = dict[str, tuple[str, ...]]
"""Ids by the property that names them."""


def references(root: Element) -> dict[int, list[Reference]]:
    """Of each element that may have any, by its identity."""
    style = styled(root)
    found: dict[int, list[Reference]] = {}
    passed: dict[int, Keys] = {id(root): {}}
    for element in root.iter():  # parents stand before their children
        above = passed.pop(id(element))
        stated, kept = _stated(element, style)
        if stated:
            above = {name: keys for name, keys in above.items() if name in kept}
        below = _joined(above, stated) if len(element) else above
        for child in element:
            passed[id(child)] = below
        if stated or above or local(element) in _NAMING:
            listed = [*_named(element), *_drawn(stated), *_painted(element, stated, above)]
            found[id(element)] = listed
    return found


def _stated(element: Element, style: Styled) -> tuple[Keys, frozenset[str]]:
    """Ids by property, none for a property without; and the properties that a parent may give.

    A rule of a style sheet may mean other elements, so what it states is added to the parent's.
    """
    declared = style(element)
    if not declared and not _NAMES & element.attrib.keys():
        return {}, _NAMES
    inline = element.get("style", "")
    sure = {name: element.attrib[name] for name in _NAMES & element.attrib.keys()}
    sure |= _by_property(inline)
    maybe = _by_property(declared[len(inline) :])
    keys = {
        name: tuple(URL_TARGET.findall(sure.get(name, "") + maybe.get(name, "")))
        for name in sure.keys() | maybe.keys()
    }
    return keys, frozenset(n for n in _NAMES if sure.get(n, "inherit").strip() == "inherit")


def _by_property(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for name, value in _DECLARED.findall(text):
        for one in _MARKERS if name == "marker" else (name,):
            found[one] = found.get(one, "") + value
    return found


def _joined(above: Keys, stated: Keys) -> Keys:
    if not stated:
        return above
    own = {name: stated[name] for name in _INHERITED if name in stated}
    return above | {name: (*above.get(name, ()), *keys) for name, keys in own.items()}


def _named(element: Element) -> Iterator[Reference]:
    kind = local(element)
    if kind in _NAMING:
        for target in (element.get(key, "") for key in HREFS):
            if target.startswith("#"):
                yield Reference(target[1:], copied=kind == "use")


def _drawn(stated: Keys) -> Iterator[Reference]:
    for name in stated.keys() - set(_INHERITED):
        yield from map(Reference, stated[name])


def _painted(element: Element, stated: Keys, above: Keys) -> Iterator[Reference]:
    if local(element) not in _PAINTED:
        return
    for keys_by_name, inherited in ((stated, False), (above, True)):
        for name, keys in keys_by_name.items():
            if keys and name in _INHERITED:
                times = _vertices(element) if name in _MARKERS else 1
                yield from (Reference(key, times, inherited=inherited) for key in keys)


def _vertices(element: Element) -> int:
    """At least as many as the line has: a marker may stand at each."""
    return 1 + len(_STEPS.findall(element.get("d", "") + element.get("points", "")))
