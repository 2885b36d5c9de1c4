"""One file of many: what runs in a process of its own, and the record that comes back.

The modules of pictures are imported at the top: this module is imported over there before the
first file's memory is counted.
"""

from __future__ import annotations

import json
import queue
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from artcheck import pipeline
from artcheck.domain.order import Order
from artcheck.domain.shop import Shop
from artcheck.isolated import Fault, Limits, Process, Tell
from artcheck.reading.sniff import read_bytes
from artcheck.report.data import to_json
from artcheck.report.pictures import picture_on

__all__ = ["Done", "Job", "check_file", "run_job", "stop_processes"]

THUMBNAIL_PX = 160
"""Long side of an overview's picture: twice the 80 px it is shown at, for sharp screens."""


@dataclass(frozen=True, slots=True)
class Job:
    """One file, and what is to be told of it. ``order`` has one print, whose art the file is."""

    name: str
    path: str
    order: Order
    shop: Shop
    limits: Limits


@dataclass(frozen=True, slots=True)
class Done:
    """What a file came to: a report with a thumbnail, or a fault. ``seconds`` of wall time."""

    name: str
    seconds: float
    report: dict[str, Any] | None = None
    thumbnail: str | None = None
    fault: Fault | None = None


def check_file(tell: Tell, job: Job) -> tuple[dict[str, Any], str]:
    """Measure and judge one file: its report's keys, and its thumbnail as a ``data:`` address.

    Raises
    ------
    ArtcheckError
        The file gives no picture, or the order cannot be applied to it.
    """
    print_ = job.order.prints[0]
    measured, cutout = pipeline.examine(
        read_bytes(Path(job.path)),
        Path(job.path).name,
        background=print_.background,
        page=print_.page,
        progress=tell,
    )
    report = pipeline.evaluate(measured, job.order, job.shop)
    picture = picture_on(cutout, report.garment.hex, longest_px=THUMBNAIL_PX)
    return json.loads(to_json(report)), picture.uri


# --- around it, in the caller's process or a cluster's worker -----------------------------------

_idle: queue.SimpleQueue[Process] = queue.SimpleQueue()
"""Processes that wait for a file. One queue an interpreter: a cluster's worker imports this module
and so has its own."""

_all: list[Process] = []


def run_job(job: Job) -> Done:
    """Check one file within its limits; never raises for the file's sake."""
    process = _process(job.limits)
    began = time.monotonic()
    try:
        outcome = process.call(check_file, job)
    finally:
        _idle.put(process)
    seconds = time.monotonic() - began
    if isinstance(outcome, Fault):
        return Done(job.name, seconds, fault=outcome)
    report, thumbnail = outcome
    return Done(job.name, seconds, report=report, thumbnail=thumbnail)


def _process(limits: Limits) -> Process:
    while True:
        try:
            process = _idle.get_nowait()
        except queue.Empty:
            break
        if process.limits == limits and not process.stopped:
            return process
        process.close()
        _all.remove(process)
    process = Process(limits)
    _all.append(process)
    return process


def stop_processes() -> None:
    """End every process of this interpreter; calls under way come back as faults."""
    for process in tuple(_all):
        process.stop()
