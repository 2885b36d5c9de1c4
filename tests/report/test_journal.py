"""What a long run has finished: nothing lost but a line that was being written."""

from __future__ import annotations

from pathlib import Path

import pytest

from artcheck.errors import OutputError
from artcheck.report.journal import JOURNAL_NAME, Journal, forget

STAMP = (10, 20)


def filled(folder: Path) -> Path:
    with Journal(folder, "as asked") as journal:
        for name in ("a", "b"):
            journal.add(name, STAMP, {"about": name})
    return folder / JOURNAL_NAME


@pytest.mark.parametrize("torn", [b'{"name":"c","stam', b"\0" * 40, b'{"na\0\0\n{}\n', b"7\n"])
def test_what_a_lost_power_leaves_at_the_end_is_cut_off(tmp_path: Path, torn: bytes) -> None:
    path = filled(tmp_path)
    whole = path.read_bytes()
    path.write_bytes(whole + torn)
    with Journal(tmp_path, "as asked") as journal:
        assert path.read_bytes() == whole
        assert not journal.holds("c", STAMP)
        journal.add("c", STAMP, {"about": "c"})
    with Journal(tmp_path, "as asked") as journal:
        assert [journal.payload(name)["about"] for name in "abc"] == ["a", "b", "c"]


def test_every_byte_lost_costs_the_last_line_alone(tmp_path: Path) -> None:
    path = filled(tmp_path)
    whole = path.read_bytes()
    last = len(whole.splitlines(keepends=True)[-1])
    for lost in range(1, last):
        path.write_bytes(whole[:-lost])
        with Journal(tmp_path, "as asked") as journal:
            assert journal.holds("a", STAMP)
            assert not journal.holds("b", STAMP)


@pytest.mark.parametrize("left", [b"", b'{"sett', b"\0\0\0"])
def test_a_torn_beginning_is_begun_anew(tmp_path: Path, left: bytes) -> None:
    (tmp_path / JOURNAL_NAME).write_bytes(left)
    with Journal(tmp_path, "as asked") as journal:
        journal.add("a", STAMP, 1)
    with Journal(tmp_path, "as asked") as journal:
        assert journal.payload("a") == 1


def test_another_version_of_a_file_is_not_finished(tmp_path: Path) -> None:
    filled(tmp_path)
    with Journal(tmp_path, "as asked") as journal:
        assert not journal.holds("a", (10, 21))
        journal.add("a", (10, 21), {"about": "newer"})
    with Journal(tmp_path, "as asked") as journal:
        assert journal.holds("a", (10, 21))
        assert journal.payload("a") == {"about": "newer"}


def test_other_settings_are_refused_until_forgotten(tmp_path: Path) -> None:
    filled(tmp_path)
    with pytest.raises(OutputError, match="other settings"):
        Journal(tmp_path, "otherwise")
    forget(tmp_path)
    with Journal(tmp_path, "otherwise") as journal:
        assert not journal.holds("a", STAMP)
