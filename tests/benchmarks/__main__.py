"""Runs every benchmark and writes docs/benchmarks.md: ``python -m tests.benchmarks [NAME ...]``.

Each ``bench_*.py`` prints its own table; this gathers them with the machine, the versions and the
command, so that figures can be made again and compared. Named benchmarks alone are run anew; the
others keep their section.
"""

from __future__ import annotations

import platform
import re
import subprocess
import sys
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs" / "benchmarks.md"
SAMPLES = {
    "bench_baselines": ["--sample", "6"],
    "bench_inks": ["--sample", "40"],
    "bench_job": ["--sample", "25"],
    "bench_separation": ["--sample", "25"],
    "bench_sharpness": ["--sample", "12", "--seed", "1"],
    "bench_speed": ["--roll"],
    "bench_tone": ["--sample", "4", "--seed", "1"],
}
"""Options under which the published figures are made."""


def names() -> list[str]:
    return sorted(file.stem for file in HERE.glob("bench_*.py"))


def section(name: str) -> str:
    """The benchmark's own words and what it printed."""
    command = ["-m", f"tests.benchmarks.{name}", *SAMPLES.get(name, [])]
    print(f"running python {' '.join(command)}", file=sys.stderr)
    done = subprocess.run([sys.executable, *command], capture_output=True, text=True, check=False)
    printed = done.stdout.strip() if done.returncode == 0 else f"failed: {done.stderr[-500:]}"
    shown = "python " + " ".join(command)
    return f"## {name}\n\n{datetime.now(UTC):%Y-%m-%d}, `{shown}`\n\n```\n{printed}\n```\n"


def kept() -> dict[str, str]:
    """Sections of the page as it stands."""
    if not PAGE.exists():
        return {}
    parts = re.split(r"^## (bench_\w+)\n", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    pairs = zip(parts[1::2], parts[2::2], strict=True)
    return {name: f"## {name}\n{text.rstrip()}\n" for name, text in pairs}


def head() -> str:
    packages = ("numpy", "opencv-python-headless", "pillow")
    versions = ", ".join(f"{name} {version(name)}" for name in packages)
    return (
        "# Benchmarks\n\n"
        "Written by `python -m tests.benchmarks`. Drawn sets are fetched from npm when it runs\n"
        "and never stored here; photographs are those that scikit-image and scikit-learn ship.\n"
        "Seconds on a shared machine vary: read ratios, not seconds.\n\n"
        f"Machine: {platform.machine()}, {platform.system()}, Python"
        f" {platform.python_version()}, {versions}.\n"
    )


def main() -> None:
    wanted = sys.argv[1:] or names()
    for name in wanted:
        made = section(name)
        # Read anew each time: another run may have written its own sections meanwhile.
        sections = kept() | {name: made}
        body = "\n".join(sections[name] for name in names() if name in sections)
        PAGE.write_text(f"{head()}\n{body}", encoding="utf-8")


if __name__ == "__main__":
    main()
