"""How much work a drawing is, counted before it is drawn."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from artcheck.errors import DamagedArtError, TooLargeArtError
from artcheck.reading.budget import MOST_DEPTH, MOST_ELEMENTS
from artcheck.reading.svg.tags import HREFS, SVG


def check_work(root: Element, name: str) -> None:
    """Count elements with every ``use`` followed, so that nesting cannot multiply work.

    Raises
    ------
    DamagedArtError
        Elements that use each other in a circle.
    TooLargeArtError
        More elements, or nested deeper, than the budget.
    """
    sizes = _sizes(root, name)
    by_id = {key: element for element in root.iter() if (key := element.get("id"))}
    weights: dict[str, int] = {}

    def weight(key: str, within: tuple[str, ...]) -> int:
        if key in within:
            raise DamagedArtError(f"{name} refers to itself in a circle. Export it again.")
        if len(within) > MOST_DEPTH:
            raise _too_deep(name)
        if key not in weights and key in by_id:
            inner = sum(weight(target, (*within, key)) for target in _use_targets(by_id[key]))
            weights[key] = min(sizes[id(by_id[key])] + inner, MOST_ELEMENTS + 1)
        return weights.get(key, 0)

    total = sizes[id(root)] + sum(weight(target, ()) for target in _use_targets(root))
    if total > MOST_ELEMENTS:
        raise TooLargeArtError(
            f"{name} draws more than {MOST_ELEMENTS:,} elements. Flatten it, or send a PNG."
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


def _use_targets(element: Element) -> list[str]:
    uses = element.iter(f"{SVG}use")
    return [
        target[1:] for use in uses for key in HREFS if (target := use.get(key, "")).startswith("#")
    ]
