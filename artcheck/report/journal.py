r"""What a long run has finished, so that an interrupted run goes on where it stopped.

A file of lines that only grows. Each is on the disk before the next begins, so a process killed in
the middle loses at most the line it was writing; such a torn end is cut off when the run goes on.
The first line says which settings the run was made with.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from artcheck.errors import OutputError
from artcheck.report.files import told

JOURNAL_NAME = ".artcheck-journal.jsonl"


@dataclass(frozen=True, slots=True)
class _Place:
    start: int
    size: int
    stamp: tuple[int, int]


class Journal:
    """The finished files of one run, by name. A context manager; only one process at a time.

    A line's payload stays on the disk: the journal of a million files needs no memory for them.
    """

    def __init__(self, folder: Path, settings: str) -> None:
        """Open or begin the journal in ``folder``, which exists.

        Raises
        ------
        OutputError
            It belongs to a run of other settings, another process writes it, or it cannot be
            written.
        """
        self._path = folder / JOURNAL_NAME
        self._places: dict[str, _Place] = {}
        with told(self._path):
            handle = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o666)
            self._file = os.fdopen(handle, "r+b")
            try:
                self._lock()
                self._resume(settings)
            except BaseException:
                self._file.close()
                raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._file.close()

    def holds(self, name: str, stamp: tuple[int, int]) -> bool:
        """Whether this version (size, time of change) of the file is finished."""
        place = self._places.get(name)
        return place is not None and place.stamp == stamp

    def add(self, name: str, stamp: tuple[int, int], payload: Any) -> None:
        """Note a finished file; on the disk when this returns.

        Raises
        ------
        OutputError
            The disk is full or gone.
        """
        line = _line({"name": name, "stamp": stamp, "payload": payload})
        with told(self._path):
            start = self._file.seek(0, os.SEEK_END)
            self._file.write(line)
            self._file.flush()
            os.fsync(self._file.fileno())
        self._places[name] = _Place(start, len(line), stamp)

    def payload(self, name: str) -> Any:
        """What was noted of a finished file."""
        place = self._places[name]
        with told(self._path):
            self._file.seek(place.start)
            return json.loads(self._file.read(place.size))["payload"]

    def _lock(self) -> None:
        import fcntl

        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise OutputError(
                f"Another artcheck is writing to {self._path.parent}. Wait for it, or name another"
                " folder."
            ) from None

    def _resume(self, settings: str) -> None:
        end = 0
        for start, line in self._whole_lines():
            entry = _entry(line)
            if entry is None:
                break
            if start == 0:
                self._check(entry, settings)
            else:
                stamp = (int(entry["stamp"][0]), int(entry["stamp"][1]))
                self._places[entry["name"]] = _Place(start, len(line), stamp)
            end = start + len(line)
        self._file.truncate(end)
        if end == 0:
            self._file.seek(0)
            self._file.write(_line({"settings": settings}))
            self._file.flush()
            os.fsync(self._file.fileno())

    def _whole_lines(self) -> Iterator[tuple[int, bytes]]:
        self._file.seek(0)
        start = 0
        for line in self._file:
            if not line.endswith(b"\n"):
                return
            yield start, line
            start += len(line)

    def _check(self, entry: dict[str, Any], settings: str) -> None:
        if entry.get("settings") != settings:
            raise OutputError(
                f"{self._path.parent} holds a run with other settings (order, shop or version)."
                " Name another folder, or add --overwrite to begin anew."
            )


def forget(folder: Path) -> None:
    """Take an earlier run's journal away, so that the next begins anew.

    Raises
    ------
    OutputError
        The folder cannot be written.
    """
    with told(folder):
        (folder / JOURNAL_NAME).unlink(missing_ok=True)


def _line(entry: dict[str, Any]) -> bytes:
    return json.dumps(entry, separators=(",", ":"), allow_nan=False).encode("ascii") + b"\n"


def _entry(line: bytes) -> dict[str, Any] | None:
    """The line's record; None for what a broken disk left there."""
    try:
        entry = json.loads(line)
    except ValueError:
        return None
    return entry if isinstance(entry, dict) and ("settings" in entry or "stamp" in entry) else None
