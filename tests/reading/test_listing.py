"""Which files a folder holds."""

from __future__ import annotations

from pathlib import Path

import pytest

from artcheck.errors import UsageError
from artcheck.reading.listing import list_files


def names(*places: Path) -> list[str]:
    return [file.name for file in list_files(places)]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("b.png", "a/z.png", "a/b/c.png", "Z.png", ".hidden.png", ".cache/x.png"):
        path = tmp_path / "art" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")
    return tmp_path / "art"


def test_names_below_the_folder_in_one_order_without_hidden_ones(folder: Path) -> None:
    assert names(folder) == ["Z.png", "a/b/c.png", "a/z.png", "b.png"]


def test_a_circle_of_folders_is_not_run(folder: Path) -> None:
    (folder / "a" / "again").symlink_to(folder)
    assert names(folder) == ["Z.png", "a/b/c.png", "a/z.png", "b.png"]


def test_a_link_to_nowhere_is_listed(folder: Path) -> None:
    (folder / "lost.png").symlink_to("nowhere")
    assert "lost.png" in names(folder)


def test_a_file_named_twice_is_one(folder: Path) -> None:
    assert names(folder / "b.png", folder, folder / ".." / "art" / "b.png") == names(folder)


def test_two_files_of_one_name_are_told(folder: Path) -> None:
    with pytest.raises(UsageError, match=r"both be called z\.png"):
        list_files([folder / "a", _with_file(folder.parent / "other" / "z.png").parent])


def _with_file(path: Path) -> Path:
    path.parent.mkdir()
    path.write_bytes(b"y")
    return path


def test_a_missing_place_is_told(folder: Path) -> None:
    with pytest.raises(UsageError, match="does not exist"):
        list_files([folder / "none"])
