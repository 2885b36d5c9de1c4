"""Reads a customer's art, measures it, and says how to print it on garments.

>>> import artcheck
>>> shop = artcheck.load_shop()
>>> order = artcheck.Order(prints=(artcheck.Print(art="logo.png", width_in=4),))
>>> report = artcheck.check("logo.png", order, shop)      # doctest: +SKIP
>>> job = artcheck.separate(order, shop, artcheck.SeparationOptions(inks=2))  # doctest: +SKIP
>>> manifest = artcheck.write_job(job, Path("job"))            # doctest: +SKIP

The names below are the public API; everything else may move.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from artcheck.version import __version__

if TYPE_CHECKING:
    from artcheck import errors
    from artcheck.domain.check import OrderReport, Report
    from artcheck.domain.manifest import Manifest
    from artcheck.domain.measurements import Measurements
    from artcheck.domain.order import BrandColour, Garment, Order, Print, SizeRun
    from artcheck.domain.separating import SeparationOptions
    from artcheck.domain.shop import Shop
    from artcheck.pipeline import (
        check,
        check_order,
        evaluate,
        evaluate_order,
        measure_file,
        separate,
    )
    from artcheck.report.job_files import write_job
    from artcheck.separation.job import SeparationJob
    from artcheck.shop import load_order, load_shop

__all__ = [
    "BrandColour",
    "Garment",
    "Manifest",
    "Measurements",
    "Order",
    "OrderReport",
    "Print",
    "Report",
    "SeparationJob",
    "SeparationOptions",
    "Shop",
    "SizeRun",
    "__version__",
    "check",
    "check_order",
    "errors",
    "evaluate",
    "evaluate_order",
    "load_order",
    "load_shop",
    "measure_file",
    "separate",
    "write_job",
]

_HOMES = {
    "BrandColour": "artcheck.domain.order",
    "Garment": "artcheck.domain.order",
    "Manifest": "artcheck.domain.manifest",
    "Measurements": "artcheck.domain.measurements",
    "Order": "artcheck.domain.order",
    "OrderReport": "artcheck.domain.check",
    "Print": "artcheck.domain.order",
    "Report": "artcheck.domain.check",
    "SeparationJob": "artcheck.separation.job",
    "SeparationOptions": "artcheck.domain.separating",
    "Shop": "artcheck.domain.shop",
    "SizeRun": "artcheck.domain.order",
    "check": "artcheck.pipeline",
    "check_order": "artcheck.pipeline",
    "evaluate": "artcheck.pipeline",
    "evaluate_order": "artcheck.pipeline",
    "load_order": "artcheck.shop",
    "load_shop": "artcheck.shop",
    "measure_file": "artcheck.pipeline",
    "separate": "artcheck.pipeline",
    "write_job": "artcheck.report.job_files",
}


def __getattr__(name: str) -> Any:
    """Import a public name when it is first used: ``artcheck --help`` needs none of them."""
    if name == "errors":
        return importlib.import_module("artcheck.errors")
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module 'artcheck' has no attribute '{name}'")
    return getattr(importlib.import_module(home), name)
