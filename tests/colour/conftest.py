"""Charts and profiles that several tests read."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from artcheck.colour.chart import Chart, read_chart
from artcheck.colour.print_model import PrintModel, packaged_model

DATA = Path(__file__).parent.parent / "data" / "colour"
PACKAGE_DATA = Path(__file__).parent.parent.parent / "artcheck" / "colour" / "data"


@pytest.fixture(scope="session")
def tr006_file() -> Path:
    return DATA / "TR006.ti3"


@pytest.fixture(scope="session")
def fogra39_file() -> Path:
    return PACKAGE_DATA / "FOGRA39L.ti3"


@pytest.fixture(scope="session")
def tr006_chart(tr006_file: Path) -> Chart:
    return read_chart(tr006_file.read_bytes(), tr006_file.name)


@pytest.fixture(scope="session")
def fogra39_chart(fogra39_file: Path) -> Chart:
    return read_chart(fogra39_file.read_bytes(), fogra39_file.name)


@pytest.fixture(scope="session")
def tr006() -> PrintModel:
    return packaged_model("tr006")


@pytest.fixture(scope="session")
def fogra39() -> PrintModel:
    return packaged_model("fogra39")


@pytest.fixture(scope="session")
def argyll_profile(tmp_path_factory: pytest.TempPathFactory, tr006_file: Path) -> Path:
    """A version 2 output profile that ArgyllCMS makes from the TR 006 patches (about 6 s)."""
    colprof = shutil.which("colprof")
    if colprof is None:
        pytest.skip("colprof is not installed (Debian package argyll)")
    folder = tmp_path_factory.mktemp("argyll")
    shutil.copy(tr006_file, folder / "tr006.ti3")
    subprocess.run(
        [colprof, "-ql", "-bn", "-D", "TR 006 by ArgyllCMS", "tr006"],
        cwd=folder,
        check=True,
        capture_output=True,
    )
    return folder / "tr006.icc"
