"""What a test has a process of its own do in place of separating. Importable by name there."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from artcheck.errors import NothingToPrintError


def sleeps(tell: Callable[[str], None], *_: Any) -> None:
    tell("sleeping")
    time.sleep(60)


def refuses(tell: Callable[[str], None], *_: Any) -> None:
    raise NothingToPrintError("No ink is left to print.")
