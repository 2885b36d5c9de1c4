"""What the server holds: files by their hash, each measured once, the oldest let go first."""

from __future__ import annotations

import hashlib
import multiprocessing
import os
import threading
from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerContext, SpawnContext
from multiprocessing.process import BaseProcess

from artcheck.domain.artwork import BackgroundChoice
from artcheck.web.worker import Seen, work

MOST_HELD_BYTES = 768 * 1024**2
"""Bytes of files kept in memory; the least used go first. They are on no disk, so a crash leaves
nothing of a customer's behind."""

MOST_HELD = 200
"""Measured pieces of art kept: with their pictures about a megabyte each."""

MOST_SECONDS = 300
"""A file that takes longer is given up: the slowest legal one (170 megapixels) takes far less."""

WORKERS = max(1, min(4, os.cpu_count() or 1))
"""Files measured at once; more wait their turn."""


@dataclass(frozen=True, slots=True)
class ArtKey:
    """What a measurement depends on."""

    digest: str
    background: BackgroundChoice = "auto"
    page: int = 1


@dataclass(slots=True)
class Task:
    """One measurement under way or done: exactly one of ``seen`` and ``fault`` at its end."""

    key: ArtKey
    name: str
    doing: str = "waiting"
    seen: Seen | None = None
    fault: str | None = None
    cancelled: bool = False
    process: BaseProcess | None = None
    ended: threading.Event = field(default_factory=threading.Event)


class Desk:
    """Files and their measurements. Safe to use from several threads."""

    def __init__(self, *, most_bytes: int = MOST_HELD_BYTES, most_held: int = MOST_HELD) -> None:
        """Start with nothing held."""
        self._most_bytes, self._most_held = most_bytes, most_held
        self._files: OrderedDict[str, bytes] = OrderedDict()
        self._tasks: OrderedDict[ArtKey, Task] = OrderedDict()
        self._lock = threading.Lock()
        self._threads = ThreadPoolExecutor(WORKERS, thread_name_prefix="measuring")

    def receive(self, data: bytes) -> str:
        """Hold a file; its SHA-256."""
        digest = hashlib.sha256(data).hexdigest()
        with self._lock:
            self._files[digest] = data
            self._files.move_to_end(digest)
            while len(self._files) > 1 and sum(map(len, self._files.values())) > self._most_bytes:
                self._files.popitem(last=False)
        return digest

    def file(self, digest: str) -> bytes | None:
        """The bytes of a file that is still held."""
        with self._lock:
            return self._files.get(digest)

    def look(self, key: ArtKey, name: str) -> Task | None:
        """The task of a piece of art, begun now if it is new; None where its file is not held.

        A task that was cancelled, or whose name has changed since it failed, begins anew.
        """
        with self._lock:
            task = self._tasks.get(key)
            if task is not None and not task.cancelled and not (task.fault and task.name != name):
                self._tasks.move_to_end(key)
                return task
            data = self._files.get(key.digest)
            if data is None:
                return None
            task = Task(key, name)
            self._tasks[key] = task
            self._let_go()
        self._threads.submit(self._run, task, data)
        return task

    def seen(self, key: ArtKey) -> Seen | None:
        """What was measured, where it is done and still held."""
        with self._lock:
            task = self._tasks.get(key)
            if task is None or task.seen is None:
                return None
            self._tasks.move_to_end(key)
            return task.seen

    def cancel(self, digest: str) -> None:
        """Stop every measurement of a file that is under way, and forget those."""
        with self._lock:
            stopped = [t for k, t in self._tasks.items() if k.digest == digest and t.seen is None]
            for task in stopped:
                task.cancelled = True
                del self._tasks[task.key]
                if task.process is not None:
                    task.process.kill()

    def close(self) -> None:
        """Stop everything; the threads end with their processes."""
        with self._lock:
            digests = {key.digest for key in self._tasks}
        for digest in digests:
            self.cancel(digest)
        self._threads.shutdown(wait=True, cancel_futures=True)

    # --- in the threads -------------------------------------------------------------------------

    def _let_go(self) -> None:
        """Forget the least used measurements that are done. The lock is held."""
        done = [key for key, task in self._tasks.items() if task.ended.is_set()]
        for key in done[: max(0, len(self._tasks) - self._most_held)]:
            del self._tasks[key]

    def _run(self, task: Task, data: bytes) -> None:
        try:
            if not task.cancelled:
                self._measure(task, data)
        finally:
            if task.seen is None and task.fault is None:
                task.fault = (
                    f"Measuring {task.name} ended without a result: it may need more memory than"
                    " there is. Send it smaller."
                )
            task.ended.set()

    def _measure(self, task: Task, data: bytes) -> None:
        context = _context()
        ours, theirs = context.Pipe(duplex=False)
        key = task.key
        process = context.Process(
            target=work, args=(theirs, data, task.name, key.background, key.page), daemon=True
        )
        with ours:
            with self._lock:
                if task.cancelled:
                    return
                process.start()
                task.process = process
            theirs.close()
            _listen(ours, task)
        process.kill()
        process.join()


def _listen(pipe: Connection, task: Task) -> None:
    """Follow a worker until its result, its end, or the time that a file may take."""
    try:
        while pipe.poll(MOST_SECONDS):
            kind, value = pipe.recv()
            if kind == "doing":
                task.doing = value
            elif kind == "seen":
                task.seen = value
                return
            else:
                task.fault = value
                return
        task.fault = f"{task.name} took longer than {MOST_SECONDS} s. Send it smaller or simpler."
    except (EOFError, OSError):  # the worker was stopped or died
        return


def _context() -> SpawnContext | ForkServerContext:
    """Processes that copy nothing of the server's threads.

    Where the system has a fork server, they start in a few hundredths of a second.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["artcheck.web.worker", "artcheck.measure", "artcheck.reading"])
    return context
