"""Writes that are cut off, have no room, or are not allowed: whole results or none."""

from __future__ import annotations

import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from artcheck.cli.run import run
from tests.art import saved, two_inks
from tests.hostile import killing


@pytest.mark.parametrize("kind", killing.COMMANDS)
def test_killed_at_some_moment(kind: str) -> None:
    """More moments: ``python -m tests.hostile.killing``. A torn result fails inside."""
    assert set(killing.trials(kind, 2)) <= {"nothing", "old", "new", "begun"}


def test_a_torn_result_is_seen(tmp_path: Path) -> None:
    killing.prepare("replace", tmp_path)
    assert killing.state("replace", tmp_path) == "old"
    (tmp_path / "out" / "report.json").write_text('{"schema_')
    with pytest.raises(ValueError):
        killing.state("replace", tmp_path)
    (tmp_path / "out" / ".artcheck-files.json").unlink()
    with pytest.raises(FileNotFoundError):
        killing.state("replace", tmp_path)


# --- nothing is replaced unasked ----------------------------------------------------------------

JSON_COMMANDS = (
    ["check", "{art}", "--width", "4in"],
    ["grid", "--width", "9in"],
    ["copies", "--sheet", "12x15", "--piece", "5x3"],
    ["colour", "--lab", "52,-38,-12"],
    ["shop", "show"],
)


@pytest.mark.parametrize("words", JSON_COMMANDS, ids=lambda words: words[0])
def test_json_replaces_no_file_unasked(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    art, result = saved(two_inks(150), tmp_path / "art.png"), tmp_path / "r.json"
    result.write_text("mine")
    asked = [word.format(art=art) for word in words] + ["--json", str(result)]
    assert run(asked) == 8
    assert result.read_text() == "mine"
    assert "--overwrite" in capsys.readouterr().err
    assert run([*asked, "--overwrite"]) == 0
    json.loads(result.read_text())
    assert sorted(path.name for path in tmp_path.iterdir()) == ["art.png", "r.json"]


def test_a_page_for_the_wall_replaces_no_file_unasked(tmp_path: Path) -> None:
    page = tmp_path / "grid.svg"
    page.write_text("mine")
    assert run(["grid", "--width", "9in", "--out", str(page)]) == 8
    assert page.read_text() == "mine"
    assert run(["grid", "--width", "9in", "--out", str(page), "--overwrite"]) == 0
    assert page.read_text() != "mine"


def test_a_file_that_came_meanwhile_stays(tmp_path: Path) -> None:
    from artcheck.errors import OutputError
    from artcheck.report.files import check_writable_file, write_atomic

    path = tmp_path / "r.json"
    check_writable_file(path, overwrite=False)
    path.write_text("somebody else's")
    with pytest.raises(OutputError, match="--overwrite"):
        write_atomic(path, b"{}", overwrite=False)
    assert path.read_text() == "somebody else's"
    assert [file.name for file in tmp_path.iterdir()] == ["r.json"]


# --- no room, no right --------------------------------------------------------------------------


def begun(kind: str, folder: Path, **options: Any) -> subprocess.CompletedProcess[str]:
    command = killing.command(kind, folder)
    return subprocess.run(command, capture_output=True, text=True, check=False, **options)


def assert_told(ended: subprocess.CompletedProcess[str], folder: Path) -> None:
    """One line, the code of an output that cannot be written, and no debris."""
    assert ended.returncode == 8, ended
    assert ended.stderr.count("\n") == 1
    assert "cannot be" in ended.stderr
    left = {path.name for path in folder.iterdir()} - {"art", "out", "lost+found"}
    assert not left


KINDS = ("check", "separate", "batch")


@pytest.mark.parametrize("kind", KINDS)
def test_no_room_for_a_file(kind: str, tmp_path: Path) -> None:
    """The system's limit of a file's size stands in for a disk that runs full in the middle."""

    def little_room() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (3_000, 3_000))

    killing.prepare(kind, tmp_path)
    ended = begun(kind, tmp_path, preexec_fn=little_room)
    assert_told(ended, tmp_path)
    assert kind == "batch" or not (tmp_path / "out").exists()


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(place)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("mounting is not allowed here")
    yield place
    subprocess.run(["umount", str(place)], check=True)


@pytest.mark.parametrize("kind", KINDS)
def test_full_disk(kind: str, small_disk: Path) -> None:
    killing.prepare(kind, small_disk)
    free = os.statvfs(small_disk).f_bavail * os.statvfs(small_disk).f_frsize
    (small_disk / "art" / ".filler").write_bytes(bytes(free - 8_192))
    assert_told(begun(kind, small_disk), small_disk)


@pytest.fixture
def others_folder() -> Iterator[Path]:
    """A folder that a user without rights can look into."""
    place = Path(tempfile.mkdtemp(dir="/tmp"))
    yield place
    place.chmod(0o755)
    shutil.rmtree(place)


def _can_run(user: dict[str, Any]) -> bool:
    """Whether that user may run this Python with its packages, which may lie in root's home."""
    looked = [sys.executable, "-c", "import artcheck"]
    try:
        ended = subprocess.run(looked, capture_output=True, check=False, cwd="/", **user)
    except PermissionError:
        return False
    return ended.returncode == 0


@pytest.mark.parametrize("kind", KINDS)
def test_read_only_folder(kind: str, others_folder: Path) -> None:
    killing.prepare(kind, others_folder)
    others_folder.chmod(0o555)
    options: dict[str, Any] = {"cwd": "/"}
    if os.geteuid() == 0:
        nobody: dict[str, Any] = {"user": 65_534, "group": 65_534, "extra_groups": []}
        if not _can_run(nobody):
            pytest.skip("root may write anywhere")
        options |= nobody
    assert_told(begun(kind, others_folder, **options), others_folder)
    assert not (others_folder / "out").exists()
