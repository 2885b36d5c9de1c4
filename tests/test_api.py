"""The public API is pinned: a name lost or added here is a decision, not an accident."""

from __future__ import annotations

import subprocess
import sys

import artcheck


def test_public_names() -> None:
    assert artcheck.__all__ == [
        "BrandColour",
        "Garment",
        "Manifest",
        "Measurements",
        "Order",
        "OrderReport",
        "Print",
        "Report",
        "SeparationJob",
        "SeparationOptions",
        "Shop",
        "SizeRun",
        "__version__",
        "check",
        "check_order",
        "errors",
        "evaluate",
        "evaluate_order",
        "load_order",
        "load_shop",
        "measure_file",
        "separate",
        "write_job",
    ]
    assert all(getattr(artcheck, name) is not None for name in artcheck.__all__)


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys; sys.argv = ['artcheck', '--help']\n"
        "from artcheck.cli.run import run\n"
        "assert run(['--help']) == 0\n"
        "heavy = {'numpy', 'cv2', 'PIL', 'pydantic', 'skimage', 'sklearn', 'scipy'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_flat_art_needs_no_slow_import(tmp_path: object) -> None:
    code = (
        "import sys, pathlib\n"
        "from tests.art import two_inks, saved\n"
        f"art = saved(two_inks(), pathlib.Path({str(tmp_path)!r}) / 'a.png')\n"
        "from artcheck.cli.run import run\n"
        "assert run(['check', str(art), '--width', '4in', '--quantity', '9', '--json', '-']) == 0\n"
        "slow = {'sklearn', 'skimage', 'scipy', 'matplotlib', 'colormath', 'ortools'}\n"
        "print(sorted(slow & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
