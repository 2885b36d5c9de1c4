"""How much work a drawing is, counted before it is drawn."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element

from artcheck.errors import DamagedArtError, TooLargeArtError
from artcheck.reading.budget import MOST_ATTRIBUTES, MOST_DEPTH, MOST_ELEMENTS, MOST_TEXT
from artcheck.reading.svg.styles import Styled, styled
from artcheck.reading.svg.tags import HREFS, SVG, local

Reference = tuple[str, int, bool]
"""Id of what is drawn again, how often, and whether as a copy (``use``)."""

_DRAWN: Final = re.compile(
    r"(?<![\w-])(fill|stroke|mask|clip-path|marker)(?:-start|-mid|-end)?\s*:[^;]*?"
    r"url\(\s*['\"]?#([^)'\"]*)"
)
"""Properties whose target is drawn once more."""

_GRADIENTS: Final = ("linearGradient", "radialGradient")
"""Paints made once, whoever uses them."""

_STEPS: Final = re.compile(r"[A-Za-z]|-?[\d.]+[\s,]+-?[\d.]+")


def check_work(root: Element, name: str) -> None:
    """Count elements with every reference followed, so that nesting cannot multiply work.

    Raises
    ------
    DamagedArtError
        Elements that use each other in a circle.
    TooLargeArtError
        More elements, text or attributes, or nested deeper, than the budget.
    """
    _check_lengths(root, name)
    sizes = _sizes(root, name)
    by_id = {key: element for element in root.iter() if (key := element.get("id"))}
    by_id = {key: element for key, element in by_id.items() if local(element) not in _GRADIENTS}
    style = styled(root)
    weights: dict[str, int] = {}

    def weight(reference: Reference, within: tuple[str, ...]) -> int:
        key, times, copied = reference
        if key in within:
            if copied:
                raise DamagedArtError(f"{name} refers to itself in a circle. Export it again.")
            return 0  # renderers leave out a mask within itself
        if len(within) > MOST_DEPTH:
            raise _too_deep(name)
        if key not in weights and key in by_id:
            inner = sum(weight(more, (*within, key)) for more in _references(by_id[key], style))
            weights[key] = min(sizes[id(by_id[key])] + inner, MOST_ELEMENTS + 1)
        return weights.get(key, 0) * times

    total = sizes[id(root)] + sum(weight(reference, ()) for reference in _references(root, style))
    if total > MOST_ELEMENTS:
        raise TooLargeArtError(
            f"{name} draws more than {MOST_ELEMENTS:,} elements. Flatten it, or send a PNG."
        )


def _check_lengths(root: Element, name: str) -> None:
    if any(len(element.attrib) > MOST_ATTRIBUTES for element in root.iter()):
        raise TooLargeArtError(f"{name} has an element of too many attributes. Export it again.")
    text = sum(len(part) for e in root.iter(f"{SVG}text") for part in e.itertext())
    if text > MOST_TEXT:
        raise TooLargeArtError(
            f"{name} holds more than {MOST_TEXT:,} characters of live text. Convert it to outlines,"
            " or send a PDF."
        )


def _sizes(root: Element, name: str) -> dict[int, int]:
    """Elements within each element, itself counted, by its identity."""
    depths = {id(root): 1}
    order = list(root.iter())  # parents stand before their children
    for element in order:
        if depths[id(element)] > MOST_DEPTH:
            raise _too_deep(name)
        depths |= {id(child): depths[id(element)] + 1 for child in element}
    sizes: dict[int, int] = {}
    for element in reversed(order):
        sizes[id(element)] = 1 + sum(sizes[id(child)] for child in element)
    return sizes


def _too_deep(name: str) -> TooLargeArtError:
    return TooLargeArtError(
        f"{name} nests its elements more than {MOST_DEPTH} deep. Flatten it, or send a PNG."
    )


def _references(element: Element, style: Styled) -> Iterator[Reference]:
    """What is drawn again by the elements within this one, itself counted."""
    for inner in element.iter():
        if inner.tag == f"{SVG}use":
            targets = [inner.get(key, "") for key in HREFS]
            yield from ((target[1:], 1, True) for target in targets if target.startswith("#"))
        texts = [f"{key}:{value}" for key, value in inner.attrib.items() if "url(" in value]
        for kind, key in _DRAWN.findall(";".join([*texts, style(inner)])):
            yield key, _vertices(inner) if kind == "marker" else 1, False


def _vertices(element: Element) -> int:
    """At least as many as the line has: a marker may stand at each."""
    return 1 + len(_STEPS.findall(element.get("d", "") + element.get("points", "")))
