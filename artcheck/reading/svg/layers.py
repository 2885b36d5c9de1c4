"""Pictures that a renderer must hold at once, and passes over them: masks, effects, opacity.

Each of them is as large as the page at worst. That many small ones are counted like large ones
keeps this free of geometry.
"""

from __future__ import annotations

import re
from collections import Counter
from xml.etree.ElementTree import Element

from artcheck.errors import TooLargeArtError
from artcheck.reading.budget import (
    MOST_DEPTH,
    MOST_EFFECT_PIXELS,
    MOST_LAYER_PIXELS,
)
from artcheck.reading.svg.styles import Styled, styled
from artcheck.reading.svg.tags import HREFS, SVG, URL_TARGET, local

_LAYERED = re.compile(r"(?<![\w-])(?:opacity|mask|clip-path|filter|mix-blend-mode|isolation)\s*:")
_ATTRIBUTES = ("opacity", "mask", "clip-path", "filter", "mix-blend-mode", "isolation")
_FILTER = re.compile(r"filter\s*:\s*url\(\s*['\"]?#([^)'\"]*)")
_NUMBER = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?)\s*(%?)", re.IGNORECASE)

_USUAL_REGION = 1.2
"""A filter's width and height in shares of its object, where it states none (SVG 1.1, 15.5)."""


def check_layers(root: Element, page: tuple[float, float], scale: float, name: str) -> None:
    """Refuse a drawing whose pictures within pictures, or passes over them, are past the budgets.

    ``page`` in CSS pixels, ``scale`` rendered pixels for one of them.

    Raises
    ------
    TooLargeArtError
        The message says what to do.
    """
    pixels = (page[0] * scale) * (page[1] * scale)
    style = styled(root)
    try:
        held = _Depths(root, style, name).of(root, 0)
    except RecursionError:
        raise _too_many(name) from None
    passed = _effect_pixels(root, style, scale, pixels)
    if held * pixels > MOST_LAYER_PIXELS or not passed <= MOST_EFFECT_PIXELS:  # NaN is refused too
        raise _too_many(name)


def _too_many(name: str) -> TooLargeArtError:
    return TooLargeArtError(
        f"{name} lays too many masks, patterns or effects within each other. Flatten it, or send"
        " a PNG."
    )


class _Depths:
    """How many pictures stand within each other, at most, below an element."""

    def __init__(self, root: Element, style: Styled, name: str) -> None:
        self._by_id = {key: element for element in root.iter() if (key := element.get("id"))}
        self._style, self._name = style, name
        self._found: dict[int, int] = {}

    def of(self, element: Element, within: int) -> int:
        """0 for an element that is drawn straight onto the page.

        A circle of references counts as none: renderers leave its inner end out.
        """
        if within > MOST_DEPTH:
            raise _too_many(self._name)
        if id(element) not in self._found:
            self._found[id(element)] = 0
            targets = [self._by_id[key] for key in self._targets(element) if key in self._by_id]
            own = self._makes_layer(element) or local(element) in ("mask", "pattern")
            inner = max(
                max((self.of(child, within + 1) for child in element), default=0),
                max((self.of(target, within + 1) for target in targets), default=0),
            )
            self._found[id(element)] = own + inner
        return self._found[id(element)]

    def _targets(self, element: Element) -> list[str]:
        texts = [*element.attrib.values(), self._style(element)]
        linked = [element.get(key, "") for key in HREFS]
        found = [key for text in texts for key in URL_TARGET.findall(text)]
        return found + [target[1:] for target in linked if target.startswith("#")]

    def _makes_layer(self, element: Element) -> bool:
        return any(key in element.attrib for key in _ATTRIBUTES) or bool(
            _LAYERED.search(self._style(element))
        )


# --- effects ------------------------------------------------------------------------------------


def _effect_pixels(root: Element, style: Styled, scale: float, page_pixels: float) -> float:
    """Pixels that all filters pass over, each pass by what one pixel of it costs."""
    used: Counter[str] = Counter()
    for element in root.iter():
        used.update(URL_TARGET.findall(element.get("filter", "")))
        used.update(_FILTER.findall(style(element)))
    filters = {key: f for f in root.iter(f"{SVG}filter") if (key := f.get("id"))}
    return sum(
        times * _passes(filters[key], scale) * _region_pixels(filters[key], scale, page_pixels)
        for key, times in used.items()
        if key in filters
    )


def _region_pixels(effect: Element, scale: float, page_pixels: float) -> float:
    width, height = (_number(effect.get(key), _USUAL_REGION) for key in ("width", "height"))
    if effect.get("filterUnits") == "userSpaceOnUse":
        return (width * scale) * (height * scale)
    return width * height * page_pixels


def _passes(effect: Element, scale: float) -> float:
    return sum(_cost(step, scale) for step in effect.iter() if step is not effect)


def _cost(step: Element, scale: float) -> float:
    """Pixels read for one that is written."""
    match local(step):
        case "feTurbulence":
            return 4 * _number(step.get("numOctaves"), 1)
        case "feMorphology":
            across = 2 * _number(step.get("radius"), 0) * scale + 1
            return across * across
        case "feConvolveMatrix":
            order = _number(step.get("order"), 3)
            return order * order
    return 1


def _number(text: str | None, usual: float) -> float:
    """The first number of an attribute, without its sign."""
    found = _NUMBER.match(text or "")
    if found is None:
        return usual
    return abs(float(found[1])) / (100 if found[2] else 1)
