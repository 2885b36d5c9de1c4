"""The batch command: an order for every file, and a crew to work on them."""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import AbstractContextManager
from pathlib import Path

from rich.console import Console

from artcheck.batch import Crew, Progress, Tally, cluster_crew, local_crew, run_batch
from artcheck.cli.check import Asked, order_of, with_profile
from artcheck.cli.output import progress_on_stderr
from artcheck.errors import UsageError
from artcheck.isolated import Limits
from artcheck.report.overview import LINES_NAME, PAGE_NAME, TABLE_NAME
from artcheck.shop import load_shop
from artcheck.shop.print_condition import load_print_model

_GIB = 1024**3


def run_many(
    places: Sequence[Path],
    asked: Asked,
    *,
    shop_file: Path | None,
    profile: Path | None,
    out: Path,
    workers: int | None,
    seconds: float,
    memory_gib: float,
    cluster: str | None,
    overwrite: bool,
) -> None:
    """Check the files and say where the results are.

    Raises
    ------
    ArtcheckError
        The order, the shop or a place has a fault; a file that has one is a line of the results.
    """
    shop = with_profile(load_shop(shop_file), profile)
    load_print_model(shop.print_condition)
    order = order_of(asked)
    if len(order.prints) > 1:
        raise UsageError("The order file has several prints. Name one with a single print.")
    limits = Limits(seconds=seconds, memory_bytes=int(memory_gib * _GIB), threads=1)
    with _crew(cluster, workers) as crew, progress_on_stderr() as say:
        tally = run_batch(
            places,
            order,
            shop,
            out,
            crew,
            limits=limits,
            overwrite=overwrite,
            progress=_counted(say),
        )
    _show(tally, out)


def _crew(cluster: str | None, workers: int | None) -> AbstractContextManager[Crew]:
    if cluster is None:
        return local_crew(workers or len(os.sched_getaffinity(0)))
    if workers is not None:
        raise UsageError("--workers is for this machine; a cluster has as many as were started.")
    return cluster_crew(cluster)


def _counted(say: object) -> Progress:
    def told(tally: Tally) -> None:
        assert callable(say)
        say(_words(tally))

    return told


def _words(tally: Tally) -> str:
    kept = f", {tally.kept} of them before" if tally.kept else ""
    faults = f", {tally.faults} with a fault" if tally.faults else ""
    return f"{tally.done} of {tally.files} files{kept}{faults}"


def _show(tally: Tally, out: Path) -> None:
    console = Console(highlight=False, soft_wrap=True)
    console.print(_words(tally))
    for name in (PAGE_NAME, TABLE_NAME, LINES_NAME):
        console.print(str(out / name), markup=False)
