"""How much work a drawing is, counted before it is drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final
from xml.etree.ElementTree import Element

from artcheck.errors import DamagedArtError, TooLargeArtError
from artcheck.reading.budget import MOST_ATTRIBUTES, MOST_DEPTH, MOST_ELEMENTS, MOST_TEXT
from artcheck.reading.svg.references import Reference, references
from artcheck.reading.svg.tags import SVG, local

_MADE_ONCE: Final = ("linearGradient", "radialGradient")
"""Paints that cost the same whoever uses them."""


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
    weights = _Weights(by_id, references(root), sizes, name)
    if weights.of(root) > MOST_ELEMENTS:
        raise TooLargeArtError(
            f"{name} draws more than {MOST_ELEMENTS:,} elements. Flatten it, or send a PNG."
        )


@dataclass(slots=True)
class _Weights:
    """Elements that are drawn for an element, whatever it refers to followed."""

    by_id: dict[str, Element]
    references: dict[int, list[Reference]]
    sizes: dict[int, int]
    name: str
    within: list[str] = field(default_factory=list)
    known: dict[str, int] = field(default_factory=dict)

    def of(self, element: Element) -> int:
        inner = sum(map(self._referred, self._all(element)))
        return min(self.sizes[id(element)] + inner, MOST_ELEMENTS + 1)

    def _all(self, element: Element) -> Iterator[Reference]:
        for inner in element.iter():
            yield from self.references.get(id(inner), ())

    def _referred(self, reference: Reference) -> int:
        key = reference.key
        if key not in self.by_id:
            return 0
        if key in self.within:
            self._check_circle(reference)
            return 0
        if len(self.within) > MOST_DEPTH:
            raise _too_deep(self.name)
        if key not in self.known:
            self.within.append(key)
            weight = self.of(self.by_id[key])
            self.known[key] = 0 if local(self.by_id[key]) in _MADE_ONCE else weight
            self.within.pop()
        return self.known[key] * reference.times

    def _check_circle(self, reference: Reference) -> None:
        """Refuse one that the renderer would not come out of.

        It leaves out markers within markers, and what an element says of itself.
        """
        markers = [key for key in self.within if local(self.by_id[key]) == "marker"]
        if local(self.by_id[reference.key]) == "marker" and markers:
            return
        itself = reference.key == self.within[-1] and not reference.inherited
        if reference.copied or not itself:
            raise DamagedArtError(f"{self.name} refers to itself in a circle. Export it again.")


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
