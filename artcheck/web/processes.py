"""Processes that wait for the next file: their start and their imports are paid once."""

from __future__ import annotations

import threading

from artcheck.isolated import Limits, Process


class Processes:
    """Idle processes, all under the same limits. Safe to use from threads."""

    def __init__(self, limits: Limits) -> None:
        """Start none yet: a process starts with its first call."""
        self.limits = limits
        self._idle: list[Process] = []
        self._lock = threading.Lock()

    def take(self) -> Process:
        """A process of the caller's own, until it is given back."""
        with self._lock:
            return self._idle.pop() if self._idle else Process(self.limits)

    def give(self, process: Process) -> None:
        """Keep a process for the next; one that was stopped is cleared away."""
        if process.stopped:
            process.close()
            return
        with self._lock:
            self._idle.append(process)

    def close(self) -> None:
        """End all that are idle."""
        with self._lock:
            idle, self._idle = self._idle, []
        for process in idle:
            process.close()
