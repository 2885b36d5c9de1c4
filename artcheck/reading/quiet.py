"""Keeping native decoders quiet: libtiff and resvg write faults of a file to standard error."""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Iterator

_STDERR = 2
_lock = threading.Lock()
_silences: list[int] = []
"""Descriptors of the real standard error, one for each silence under way: the first was kept."""


@contextlib.contextmanager
def unheard() -> Iterator[None]:
    """Keep native code from writing to standard error: its faults are told in our words.

    Neither library offers another handler from Python. Silences may overlap in threads; the last to
    end brings the sound back.
    """
    with _lock:
        kept = os.dup(_STDERR)
        _silences.append(kept)
        if len(_silences) == 1:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, _STDERR)
            os.close(nowhere)
    try:
        yield
    finally:
        with _lock:
            if len(_silences) == 1:
                os.dup2(_silences[0], _STDERR)
            os.close(_silences.pop())
