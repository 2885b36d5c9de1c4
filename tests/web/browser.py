"""Where the system's browser is."""

from __future__ import annotations

import shutil


def chromium() -> str | None:
    """The path of chromium; None where it is not installed."""
    return shutil.which("chromium") or shutil.which("chromium-browser")
