"""What one hostile file came to, tried in a process of its own that is watched while it reads."""

from __future__ import annotations

import contextlib
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from artcheck import pipeline
from artcheck.cli.run import run
from artcheck.errors import INTERNAL_EXIT_CODE, ArtcheckError
from artcheck.isolated import Fault, Limits, Process, Tell
from artcheck.reading import read_data

__all__ = ["LIMITS", "Outcome", "check", "faults_of", "look", "read"]

LIMITS: Final = Limits(seconds=20, memory_bytes=1024**3, threads=1)
"""For files of at most a few megapixels: a fortieth of the largest that is legal."""

_WRITES: Final = os.O_WRONLY | os.O_RDWR | os.O_CREAT
_ACTS: Final = {"os.mkdir", "os.rename", "os.remove", "os.symlink", "os.link", "os.truncate"}
_REACHES: Final = {"socket.connect", "socket.getaddrinfo", "subprocess.Popen", "os.system"}


@dataclass(frozen=True, slots=True)
class Outcome:
    """``code``: 0 for a picture or report, else the error's exit code. ``spoken``: what went to
    standard error beside the error's words. ``acts``: writes, connections and programs started."""

    code: int
    words: str
    spoken: str
    acts: tuple[str, ...]


_acts: list[str] = []
_hooked = False


def _watch(event: str, arguments: tuple[Any, ...]) -> None:
    """Python's audit events (PEP 578); of the native readers the page of files is looked at."""
    if event == "open":
        path, _, flags = arguments
        written = isinstance(flags, int) and flags & _WRITES
        if written and path != os.devnull and "__pycache__" not in str(path):
            _acts.append(f"open {path}")
    elif event in _ACTS or event in _REACHES:
        _acts.append(f"{event} {arguments[:2]}")


@contextlib.contextmanager
def _watched(spoken: list[str]) -> Iterator[None]:
    """Note what is done, and whatever anything says on standard error, native code too."""
    global _hooked
    if not _hooked:
        sys.addaudithook(_watch)
        _hooked = True
    own = os.dup(2)
    with tempfile.TemporaryFile() as kept:
        os.dup2(kept.fileno(), 2)
        _acts.clear()
        try:
            yield
        finally:
            sys.stderr.flush()
            os.dup2(own, 2)
            os.close(own)
            kept.seek(0)
            spoken.append(kept.read().decode("utf-8", "replace"))


def look(tell: Tell, data: bytes, name: str) -> Outcome:
    """Read the bytes as a customer's file and nothing more."""
    return _told(lambda: read_data(data, name))


def read(tell: Tell, data: bytes, name: str) -> Outcome:
    """Read and measure them, as the batch and the page do."""
    return _told(lambda: pipeline.examine(data, name))


def _told(work: Callable[[], object]) -> Outcome:
    spoken: list[str] = []
    code, words = 0, ""
    with _watched(spoken):
        try:
            work()
        except ArtcheckError as stop:
            code, words = stop.exit_code, str(stop)
            if isinstance(stop.__context__, MemoryError):
                raise
    return Outcome(code, words, spoken[0], tuple(_acts))


def check(tell: Tell, path: str, folder: str) -> Outcome:
    """The whole command on a file, its results in ``folder``."""
    spoken: list[str] = []
    with _watched(spoken):
        code = run(["check", path, "--width", "4in", "--quantity", "24", "--out", folder])
    own = str(Path(folder).parent)
    acts = tuple(act for act in _acts if own not in act)
    return Outcome(code, spoken[0], "", acts)


def faults_of(outcome: Outcome | Fault) -> list[str]:
    """What must never be, of a file that was read or checked."""
    if isinstance(outcome, Fault):
        return [f"{outcome.kind}: {outcome.text}"]
    found = [f"did {act}" for act in outcome.acts]
    if outcome.code == INTERNAL_EXIT_CODE:
        found.append(f"a bug: {outcome.words}")
    if outcome.code and (not outcome.words.strip() or "\n" in outcome.words.strip()):
        found.append(f"not one line: {outcome.words!r}")
    if any(not c.isprintable() for c in outcome.words.strip()):
        found.append(f"words that no terminal may get: {outcome.words!r}")
    if outcome.spoken:
        found.append(f"said {outcome.spoken[:200]!r}")
    return found


def process(limits: Limits = LIMITS) -> Process:
    """One that has its imports behind it, so that the limits count a file's own needs."""
    made = Process(limits)
    made.call(look, b"", "nothing")
    return made
