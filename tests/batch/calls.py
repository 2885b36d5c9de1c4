"""What tests run in other processes."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from artcheck.batch.work import Job, check_file
from artcheck.errors import DamagedArtError, TooLargeArtError
from artcheck.isolated import Tell


def double(tell: Tell, number: int) -> int:
    tell("doubling")
    return 2 * number


def process_id(tell: Tell) -> int:
    return os.getpid()


def sleep(tell: Tell, seconds: float) -> None:
    time.sleep(seconds)


def fill(tell: Tell, size: int) -> int:
    return int(np.ones(size, np.uint8).sum())


def fill_with_opencv(tell: Tell, side: int) -> int:
    return int(cv2.copyMakeBorder(np.ones((1, 1), np.uint8), 0, side, 0, side, 0).size)


def kill_self(tell: Tell) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def damaged(tell: Tell) -> None:
    raise DamagedArtError("art.png breaks off. Ask for it again.")


def too_large(tell: Tell) -> None:
    try:
        np.empty(2**62, np.uint8)
    except MemoryError:
        raise TooLargeArtError("art.png needs more memory. Send it smaller.") from None


def bug(tell: Tell) -> None:
    raise KeyError("lost")


def start_and_tell(tell: Tell, path: str) -> None:
    Path(path).write_text(str(os.getpid()), encoding="ascii")
    time.sleep(60)


def check_unless_slow(tell: Tell, job: Job) -> tuple[dict[str, Any], str]:
    """As `check_file`, but a file called slow.png never ends."""
    if job.name == "slow.png":
        time.sleep(120)
    return check_file(tell, job)


def die_over_jpeg(tell: Tell, job: Job) -> tuple[dict[str, Any], str]:
    """As `check_file`, but a JPEG takes the process down."""
    if job.name.endswith(".jpg"):
        kill_self(tell)
    return check_file(tell, job)
