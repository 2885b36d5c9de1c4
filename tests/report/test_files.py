"""Writes that are whole or not there, tried by breaking them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from artcheck.errors import OutputError
from artcheck.report import files
from artcheck.report.files import JobFolder, check_writable_file, writable_folder, write_atomic


def names(folder: Path) -> list[str]:
    """Everything in a folder, hidden leftovers too."""
    return sorted(path.name for path in folder.iterdir())


def fail_inside(path: Path, *, overwrite: bool = False) -> None:
    """A job that breaks off after its first file."""
    with JobFolder(path, overwrite=overwrite) as folder:
        (folder / "a").write_bytes(b"half")
        raise RuntimeError


def make_job(path: Path, *, overwrite: bool = False, **contents: bytes) -> None:
    with JobFolder(path, overwrite=overwrite) as folder:
        for name, data in contents.items():
            write_atomic(folder / name, data)


# --- one file -----------------------------------------------------------------------------------


def test_file_is_written_and_replaced(tmp_path: Path) -> None:
    target = tmp_path / "report.json"
    write_atomic(target, b"one")
    write_atomic(target, b"two")
    assert target.read_bytes() == b"two"
    assert names(tmp_path) == ["report.json"]


def test_new_file_has_the_usual_permissions(tmp_path: Path) -> None:
    (tmp_path / "plain").write_bytes(b"")
    write_atomic(tmp_path / "ours", b"")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    write_atomic(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"


def test_full_disk_leaves_the_old_file_and_no_debris(tmp_path: Path) -> None:
    """A limit on file size stops the write in the middle, as a full disk would."""
    target = tmp_path / "report.json"
    target.write_bytes(b"old")
    script = """
        import resource, sys
        from pathlib import Path
        from artcheck.errors import OutputError
        from artcheck.report.files import write_atomic
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
        try:
            write_atomic(Path(sys.argv[1]), b"x" * 100_000)
        except OutputError as stop:
            print(stop)
    """
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(script), str(target)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "cannot be written (File too large)" in done.stdout
    assert done.stdout.count("\n") == 1
    assert target.read_bytes() == b"old"
    assert names(tmp_path) == ["report.json"]


def test_failing_sync_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(OutputError, match="Input/output error"):
        write_atomic(tmp_path / "a", b"data")
    assert names(tmp_path) == []


def test_interrupt_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_atomic(tmp_path / "a", b"data")
    assert names(tmp_path) == []


Write = Callable[[Path], object]


@pytest.mark.parametrize("write", [lambda p: write_atomic(p, b""), check_writable_file])
class TestPlacesForAFile:
    def test_folder(self, tmp_path: Path, write: Write) -> None:
        refused(write, tmp_path, "is a folder. Name a file to write.")

    def test_missing_folder(self, tmp_path: Path, write: Write) -> None:
        refused(write, tmp_path / "no" / "file", "cannot be written")

    def test_pipe(self, tmp_path: Path, write: Write) -> None:
        os.mkfifo(tmp_path / "pipe")
        refused(write, tmp_path / "pipe", "is a device or a pipe")

    def test_device(self, write: Write) -> None:
        refused(write, Path(os.devnull), "is a device or a pipe")

    def test_name_too_long(self, tmp_path: Path, write: Write) -> None:
        refused(write, tmp_path / ("n" * 300), "cannot be written")

    def test_name_with_a_zero_byte(self, tmp_path: Path, write: Write) -> None:
        refused(write, tmp_path / "a\0b", "cannot be written")

    def test_folder_that_takes_no_files(self, write: Write) -> None:
        refused(write, Path("/proc/report.json"), "cannot be written")


def refused(write: Write, path: Path, words: str) -> None:
    """One line, and nothing left beside the path."""
    with pytest.raises(OutputError) as stop:
        write(path)
    assert words in str(stop.value)
    assert "\n" not in str(stop.value)
    if path.parent.is_dir() and path.parent != Path("/proc"):
        assert not [name for name in names(path.parent) if name.startswith(".artcheck-")]


def test_existing_file_is_kept_where_that_was_asked_for(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"")
    check_writable_file(tmp_path / "a")
    with pytest.raises(OutputError, match=r"exists\. Choose another name, or add --overwrite"):
        check_writable_file(tmp_path / "a", overwrite=False)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_folder_without_permission(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(OutputError, match="Permission denied"):
        write_atomic(tmp_path / "a", b"")
    with pytest.raises(OutputError, match="Permission denied"):
        writable_folder(tmp_path / "job")
    tmp_path.chmod(0o700)


# --- a job folder -------------------------------------------------------------------------------


def test_folder_appears_only_when_it_is_whole(tmp_path: Path) -> None:
    job = tmp_path / "job"
    with JobFolder(job) as folder:
        write_atomic(folder / "report.json", b"{}")
        assert not job.exists()
    assert (job / "report.json").read_bytes() == b"{}"
    assert names(tmp_path) == ["job"]


def test_folder_has_the_usual_permissions(tmp_path: Path) -> None:
    (tmp_path / "plain").mkdir()
    make_job(tmp_path / "job", a=b"")
    assert (tmp_path / "job").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_error_inside_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError):
        fail_inside(tmp_path / "job")
    assert names(tmp_path) == []


def test_error_inside_keeps_the_old_folder(tmp_path: Path) -> None:
    make_job(tmp_path / "job", a=b"old")
    with pytest.raises(RuntimeError):
        fail_inside(tmp_path / "job", overwrite=True)
    assert (tmp_path / "job" / "a").read_bytes() == b"old"
    assert names(tmp_path) == ["job"]


def test_empty_folder_may_be_used(tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    make_job(tmp_path / "job", a=b"1")
    assert (tmp_path / "job" / "a").read_bytes() == b"1"


def test_existing_folder_is_not_overwritten_unasked(tmp_path: Path) -> None:
    make_job(tmp_path / "job", a=b"old")
    with pytest.raises(OutputError, match=r"exists\. Choose another folder, or add --overwrite"):
        JobFolder(tmp_path / "job")


@pytest.mark.parametrize("exchange", [True, False])
def test_overwriting_replaces_the_whole_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, exchange: bool
) -> None:
    if not exchange:
        monkeypatch.setattr(files, "_exchanged", lambda *_: False)
    make_job(tmp_path / "job", a=b"old", gone=b"old")
    make_job(tmp_path / "job", overwrite=True, a=b"new")
    assert names(tmp_path / "job") == [files.LIST_NAME, "a"]
    assert (tmp_path / "job" / "a").read_bytes() == b"new"
    assert names(tmp_path) == ["job"]


def test_failing_rename_brings_the_old_folder_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_job(tmp_path / "job", a=b"old")
    monkeypatch.setattr(files, "_exchanged", lambda *_: False)
    rename = Path.rename

    def fail(self: Path, target: Path) -> Path:
        if target == tmp_path / "job" and (self / "a").read_bytes() == b"new":
            raise OSError(5, "Input/output error")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", fail)
    with pytest.raises(OutputError, match="Input/output error"):
        make_job(tmp_path / "job", overwrite=True, a=b"new")
    assert (tmp_path / "job" / "a").read_bytes() == b"old"
    assert names(tmp_path) == ["job"]


def test_overwriting_never_deletes_what_artcheck_did_not_write(tmp_path: Path) -> None:
    job = tmp_path / "job"
    make_job(job, a=b"old")
    (job / "letter").mkdir()
    (job / "letter" / "customer.txt").write_text("keep me")
    with pytest.raises(OutputError, match=r"did not write \(letter/customer.txt\)"):
        JobFolder(job, overwrite=True)
    assert (job / "a").read_bytes() == b"old"


def test_overwriting_refuses_a_folder_that_is_not_artchecks(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(b"")
    (tmp_path / "photos" / "b.jpg").write_bytes(b"")
    with pytest.raises(OutputError, match=r"a.jpg and 1 more"):
        JobFolder(tmp_path / "photos", overwrite=True)
    (tmp_path / "photos" / files.LIST_NAME).write_text("not json")
    with pytest.raises(OutputError, match="did not write"):
        JobFolder(tmp_path / "photos", overwrite=True)


def test_a_link_inside_counts_as_somebody_elses_and_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(b"")
    make_job(tmp_path / "job", a=b"")
    (tmp_path / "job" / "link").symlink_to(tmp_path / "photos")
    with pytest.raises(OutputError, match=r"did not write \(link\)"):
        JobFolder(tmp_path / "job", overwrite=True)


def test_files_that_arrive_while_working_are_kept(tmp_path: Path) -> None:
    job = tmp_path / "job"
    folder = JobFolder(job)
    write_atomic(folder.__enter__() / "a", b"")
    job.mkdir()
    (job / "other").write_bytes(b"theirs")
    with pytest.raises(OutputError, match="exists"):
        folder.__exit__(None, None, None)
    assert names(job) == ["other"]
    assert names(tmp_path) == ["job"]


def test_link_to_a_folder_stays(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to("real")
    make_job(tmp_path / "link", a=b"1")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real" / "a").read_bytes() == b"1"


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ("file", r"is a file\. Name a folder"),
        ("file/job", "cannot be written"),
        ("no/job", r"does not exist\. Make it first"),
        ("n" * 300, "cannot be written"),
    ],
)
def test_places_for_a_folder(tmp_path: Path, place: str, said: str) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match=said):
        writable_folder(tmp_path / place)
    assert names(tmp_path) == ["file"]


def test_every_file_below_is_synced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also those that another writer put there."""
    synced: set[str] = set()

    def note(handle: int) -> None:
        synced.add(Path(f"/proc/self/fd/{handle}").readlink().name)

    monkeypatch.setattr(os, "fsync", note)
    with JobFolder(tmp_path / "job") as folder:
        (folder / "plates").mkdir()
        (folder / "plates" / "01-snow.tif").write_bytes(b"II*")
    assert {"plates", "01-snow.tif", tmp_path.name} <= synced


def test_killed_at_any_moment_leaves_one_whole_folder(tmp_path: Path) -> None:
    """A writer overwrites a folder of two files without pause and is killed again and again."""
    job = tmp_path / "job"
    make_job(job, a=b"0", b=b"0")
    script = """
        import sys
        from itertools import count
        from pathlib import Path
        from artcheck.report.files import JobFolder, write_atomic
        for n in count(1):
            with JobFolder(Path(sys.argv[1]), overwrite=True) as folder:
                for name in "ab":
                    write_atomic(folder / name, str(n).encode() * 1000)
            print(n, flush=True)
    """
    for trial in range(12):
        writer = subprocess.Popen(
            [sys.executable, "-c", textwrap.dedent(script), str(job)], stdout=subprocess.PIPE
        )
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"1\n"
        moment = time.perf_counter() + 0.0017 * trial
        while time.perf_counter() < moment:
            """Let the writer run on: the trials differ in how far it comes."""
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        assert names(job) == [files.LIST_NAME, "a", "b"]
        assert (job / "a").read_bytes() == (job / "b").read_bytes() != b"0"
