"""What tests have a process of its own do in place of its work. Importable by name there."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from artcheck.errors import NothingToPrintError


def sleeps(tell: Callable[[str], None], *_: Any) -> None:
    tell("sleeping")
    time.sleep(60)


def refuses(tell: Callable[[str], None], *_: Any) -> None:
    raise NothingToPrintError("No ink is left to print.")


def notes_and_sleeps(tell: Callable[[str], None], *_: Any, note: str) -> None:
    Path(note).write_text(str(os.getpid()))
    sleeps(tell)


def naps(*_: Any) -> None:
    time.sleep(0.3)


def dies(*_: Any) -> None:
    """As a decoder that reads where it must not."""
    os.kill(os.getpid(), signal.SIGSEGV)


def takes_memory(*_: Any) -> None:
    np.ones(10**9, np.uint8)


def breaks(*_: Any) -> None:
    raise ZeroDivisionError


def fills_the_disk(*_: Any) -> None:
    with Path("over.spill").open("wb", buffering=0) as file:
        for _n in range(64):
            file.write(bytes(1024**2))
