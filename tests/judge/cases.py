"""Cases built from literals: judging never sees a pixel."""

from __future__ import annotations

from typing import Any

from artcheck.domain.artwork import Background
from artcheck.domain.measurements import (
    AreaMeasured,
    DetailMeasured,
    EdgesMeasured,
    InksMeasured,
    Measurements,
    SharpnessMeasured,
    ToneMeasured,
)
from artcheck.judge import Case, Cloth
from artcheck.shop import load_shop

SHOP = load_shop()
SPOT, FILM, CUT = SHOP.method("spot"), SHOP.method("film-area"), SHOP.method("cut-film")


def measurements(**changes: Any) -> Measurements:
    """Flat, one ink, sharp, 3000 x 1500 px with nothing wrong; ``changes`` replace fields."""
    clean: dict[str, Any] = {
        "file": "art.png",
        "digest": "0" * 64,
        "kind": "raster",
        "pixels": (3000, 1500),
        "has_alpha": True,
        "profile": None,
        "resolution_ppi": 300.0,
        "declared_inks": (),
        "vector": None,
        "background": Background(kind="transparent", hex=None, reason="test"),
        "notes": (),
        "area": AreaMeasured(box=(0, 0, 1500, 3000), ink_px=2_000_000, coverage=0.44),
        "inks": InksMeasured(count=1, count_without_white=1),
        "tone": ToneMeasured(kind="flat", gradient_share=0, photo_share=0),
        "detail": DetailMeasured(),
        "sharpness": SharpnessMeasured(true_scale=1.0, method="test"),
        "edges": EdgesMeasured(soft_share=0, soft_width_px=0),
    }
    return Measurements(**(clean | changes))


def case(width_in: float = 10.0, cloth: Cloth | None = None, **changes: Any) -> Case:
    """A case at ``width_in`` (10 in is 300 ppi)."""
    own = {key: changes.pop(key) for key in list(changes) if key in Case.__slots__}
    return Case(
        **{
            "sized": measurements(**changes).at(width_in),
            "limits": SHOP.limits,
            "inks": (),
            "ink_count": 1,
            "brands": (),
            "contrast": (),
            "cloth": cloth or Cloth(),
            "equipment": SHOP.equipment,
            "stock": SHOP.inks,
            **own,
        }
    )
