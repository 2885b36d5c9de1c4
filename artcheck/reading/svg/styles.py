"""What a drawing's style sheet may give an element: more than it does, never less.

Only the last part of a selector is looked at, so a rule for some elements counts for others too:
enough to bound work, too coarse to draw by.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from xml.etree.ElementTree import Element

from artcheck.reading.svg.tags import SVG, local

_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_NAMES = re.compile(r"[.#]?[\w-]+")

Styled = Callable[[Element], str]
"""Gives the declarations that may hold for an element, its own ``style`` first."""


def styled(root: Element) -> Styled:
    """Declarations by element: its own, and those of rules that may mean it."""
    by_name: dict[str, str] = {}
    for element in root.iter(f"{SVG}style"):
        text = _COMMENT.sub("", "".join(element.itertext()))
        for selectors, declarations in _RULE.findall(text):
            for name in _last_names(selectors):
                by_name[name] = f"{by_name.get(name, '')};{declarations}"

    def of(element: Element) -> str:
        own = element.get("style", "")
        if not by_name:
            return own
        names = [local(element), "*", f"#{element.get('id', '')}"]
        names += [f".{name}" for name in element.get("class", "").split()]
        return ";".join([own, *(by_name[name] for name in names if name in by_name)])

    return of


def _last_names(selectors: str) -> list[str]:
    """The names in the last part of each selector; ``*`` where that may mean any element."""
    found = []
    for selector in selectors.split(","):
        last = re.split(r"[\s>+~]+", selector.strip())[-1]
        found += _NAMES.findall(re.sub(r"\[[^\]]*\]|:.*", "", last)) or ["*"]
    return found
