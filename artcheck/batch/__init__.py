"""Many files: each checked once, in a stable order, whatever one of them does.

The list is walked by a window of files under way, so that a million files need no more memory
than a few. A finished file is noted in the run's journal before anything else is done with it; a
run that was stopped or killed goes on from there.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import Final

from artcheck.batch.executors import Crew, cluster_crew, local_crew
from artcheck.batch.work import Done, Job, run_job
from artcheck.domain.order import Order
from artcheck.domain.shop import Shop
from artcheck.errors import OutputError, UsageError
from artcheck.isolated import Fault, Limits
from artcheck.reading.listing import Listed, list_files
from artcheck.report.journal import JOURNAL_NAME, Journal, forget
from artcheck.report.overview import Row, write_overview
from artcheck.version import __version__

__all__ = ["Crew", "Progress", "Tally", "cluster_crew", "local_crew", "run_batch"]

FILES_AHEAD: Final = 2
"""Files under way for each that is worked on: one waits, so that no worker does."""

ONE_FILE: Final = Limits(threads=1)
"""Limits of one file among many: as everywhere, and one thread, for the files share the cores."""


@dataclass(frozen=True, slots=True)
class Tally:
    """How far a run is. ``kept`` were finished by an earlier run."""

    files: int
    done: int
    kept: int
    faults: int


Progress = Callable[[Tally], None]


def run_batch(
    places: Sequence[Path],
    order: Order,
    shop: Shop,
    out: Path,
    crew: Crew,
    *,
    limits: Limits = ONE_FILE,
    overwrite: bool = False,
    progress: Progress = lambda _: None,
) -> Tally:
    """Check every file below ``places`` against the order's first print; write into ``out``.

    ``out`` holds ``results.jsonl``, ``summary.csv`` and ``overview.html``, and a journal: with the
    same order and shop a run goes on where an earlier one stopped, and takes up new files.
    ``overwrite`` begins anew.

    Raises
    ------
    UsageError
        A place is missing, or holds no file.
    OutputError
        ``out`` cannot be written, or holds something else.
    """
    folder = _folder(out, overwrite=overwrite)
    files = [f for f in list_files(places) if folder not in f.path.resolve().parents]
    if not files:
        raise UsageError("There is no file to check. Name a folder of art, or art files.")
    with Journal(folder, _settings(order, shop)) as journal:
        kept = {f.name for f in files if _is_kept(f, journal, limits)}
        waiting = [f for f in files if f.name not in kept]
        faults = {name for name in kept if journal.payload(name)["fault"]}
        progress(Tally(len(files), len(kept), len(kept), len(faults)))
        jobs = ((f, Job(f.name, str(f.path.absolute()), order, shop, limits)) for f in waiting)
        for n, (file, done) in enumerate(_finished(jobs, crew), len(kept) + 1):
            journal.add(file.name, _stamp(file), asdict(done) | {"limits": asdict(limits)})
            faults |= {file.name} if done.fault else set()
            progress(Tally(len(files), n, len(kept), len(faults)))
        write_overview(folder, [file.name for file in files], partial(_row, journal))
    return Tally(len(files), len(files), len(kept), len(faults))


def _is_kept(file: Listed, journal: Journal, limits: Limits) -> bool:
    """Whether an earlier outcome stands.

    It is of this version of the file, went over no limit that is another now, and came of no
    process that died: that may have been the machine's fault.
    """
    if not journal.holds(file.name, _stamp(file)):
        return False
    noted = journal.payload(file.name)
    kind = noted["fault"]["kind"] if noted["fault"] else None
    if kind in ("time", "memory"):
        return bool(noted["limits"] == asdict(limits))
    return kind != "died"


def _row(journal: Journal, name: str) -> Row:
    noted = journal.payload(name)
    return Row(name, noted["report"], noted["thumbnail"], noted["fault"])


def _finished(jobs: Iterator[tuple[Listed, Job]], crew: Crew) -> Iterator[tuple[Listed, Done]]:
    """Each file as it is finished, in whatever order; every file once."""
    under_way: dict[Future[Done], Listed] = {}
    exhausted = False
    while under_way or not exhausted:
        room = FILES_AHEAD * crew.size() - len(under_way)
        for _ in range(room):
            job = next(jobs, None)
            if job is None:
                exhausted = True
                break
            under_way[crew.executor.submit(run_job, job[1])] = job[0]
        for future in wait(under_way, return_when=FIRST_COMPLETED).done:
            file = under_way.pop(future)
            yield file, _result(future, file)


def _result(future: Future[Done], file: Listed) -> Done:
    """The file's outcome; a worker that died too often under it is its fault."""
    try:
        return future.result()
    except Exception as lost:
        if type(lost).__name__ != "KilledWorker":
            raise
        text = "The cluster's workers died over it. Send it smaller, or check it by itself."
        return Done(file.name, 0.0, fault=Fault("died", text, 1))


def _stamp(file: Listed) -> tuple[int, int]:
    return file.size, file.modified_ns


def _settings(order: Order, shop: Shop) -> str:
    """What a file's result depends on besides the file, in one word.

    How the art was named is left out: ``art`` and ``./art`` are one run.
    """
    print_ = order.prints[0].model_copy(update={"art": ""})
    asked = order.model_copy(update={"prints": (print_,)})
    told = "\n".join((__version__, asked.model_dump_json(), shop.model_dump_json()))
    return hashlib.sha256(told.encode()).hexdigest()


def _folder(out: Path, *, overwrite: bool) -> Path:
    """The real folder, made where it is missing; with ``overwrite`` without an earlier run.

    Raises
    ------
    OutputError
        It holds something, and not a run of artcheck.
    """
    if out.is_dir() and not (out / JOURNAL_NAME).exists() and any(out.iterdir()):
        raise OutputError(f"{out} holds other files. Name an empty or a new folder.")
    try:
        out.mkdir(exist_ok=True)
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise OutputError(f"{out} cannot be made ({reason}). Choose another place.") from None
    if overwrite:
        forget(out)
    return out.resolve()
