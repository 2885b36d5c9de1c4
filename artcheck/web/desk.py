"""What the server holds: files by their hash, each measured once, the oldest let go first."""

from __future__ import annotations

import hashlib
import os
import threading
from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Final

from artcheck.domain.artwork import BackgroundChoice
from artcheck.isolated import Fault, Limits, Process
from artcheck.web.processes import Processes
from artcheck.web.worker import Seen, work

MOST_HELD_BYTES = 768 * 1024**2
"""Bytes of files kept in memory; the least used go first. They are on no disk, so a crash leaves
nothing of a customer's behind."""

MOST_HELD = 200
"""Measured pieces of art kept: with their pictures about a megabyte each."""

LIMITS: Final = Limits()
"""What measuring one file may take. A file over it is told of beside its name; all else goes on."""

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
    """One measurement under way or done: exactly one of ``seen`` and ``fault`` at its end.

    One that was cancelled has neither.
    """

    key: ArtKey
    name: str
    doing: str = "waiting"
    seen: Seen | None = None
    fault: str | None = None
    cancelled: bool = False
    process: Process | None = None
    ended: threading.Event = field(default_factory=threading.Event)


class Desk:
    """Files and their measurements. Safe to use from several threads."""

    def __init__(
        self,
        *,
        most_bytes: int = MOST_HELD_BYTES,
        most_held: int = MOST_HELD,
        processes: Processes | None = None,
    ) -> None:
        """Start with nothing held. ``processes`` that are handed in outlive the desk."""
        self._processes, self._own_processes = processes or Processes(LIMITS), processes is None
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
            if key.digest not in self._files:
                return None
            task = Task(key, name)
            self._tasks[key] = task
            self._let_go()
        self._threads.submit(self._run, task)
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
                    task.process.stop()

    def close(self) -> None:
        """Stop everything; the threads end with their processes."""
        with self._lock:
            digests = {key.digest for key in self._tasks}
        for digest in digests:
            self.cancel(digest)
        self._threads.shutdown(wait=True, cancel_futures=True)
        if self._own_processes:
            self._processes.close()

    # --- in the threads -------------------------------------------------------------------------

    def _let_go(self) -> None:
        """Forget the least used measurements that are done. The lock is held."""
        done = [key for key, task in self._tasks.items() if task.ended.is_set()]
        for key in done[: max(0, len(self._tasks) - self._most_held)]:
            del self._tasks[key]

    def _run(self, task: Task) -> None:
        """Measure, unless nobody waits for it any more. Waiting, a task holds no file's bytes."""
        try:
            data = self.file(task.key.digest)
            if data is None:
                task.fault = f"{task.name} was let go while it waited. Drop it once more."
            else:
                self._measure(task, data)
        except Exception:
            task.fault = "A fault in artcheck itself. Please report it."
            raise
        finally:
            task.ended.set()

    def _measure(self, task: Task, data: bytes) -> None:
        process = self._processes.take()
        try:
            with self._lock:
                if task.cancelled:
                    return
                task.process = process

            def tell(words: str) -> None:
                task.doing = words

            key = task.key
            got = process.call(work, data, task.name, key.background, key.page, tell=tell)
            if isinstance(got, Fault):
                task.fault = got.text if got.kind == "art" else f"{task.name}: {got.text}"
            else:
                task.seen = got
        finally:
            with self._lock:
                task.process = None
            self._processes.give(process)
