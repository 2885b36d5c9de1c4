"""The table of mixed orders, as designs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from artcheck.pricing.gangs import Design

CASES: dict[str, list[dict[str, Any]]] = json.loads(
    (Path(__file__).parents[2] / "data" / "pricing" / "gang_dev.json").read_text(encoding="utf-8")
)


def designs_of(case: dict[str, Any]) -> list[Design]:
    """The designs of one case, named by their place in it."""
    return [
        Design(name=str(i), width_in=d["w"], height_in=d["h"], quantity=d["quantity"])
        for i, d in enumerate(case["designs"])
    ]
