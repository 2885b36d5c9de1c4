"""One call at a time in a process of its own, held to a time and a memory limit.

The process may be stopped, may exhaust its memory, may die inside a decoder: the caller gets a
`Fault` and goes on. It knows nothing of art: whoever measures many files or serves a page says
which function is to run there.

The process is a fresh interpreter, no copy of this one: that is safe beside threads, works inside
the daemon processes of a cluster, and keeps nothing of the caller's memory. It is kept for the next
call, so its start and its imports are paid once.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import subprocess
import sys
import threading
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection, Pipe
from pathlib import Path
from typing import Any, Final, Literal, TypeVar

from artcheck.errors import INTERNAL_EXIT_CODE, ArtcheckError

T = TypeVar("T")

Tell = Callable[[str], None]
"""Takes a few words on what is being done."""

FaultKind = Literal["art", "time", "memory", "died", "stopped", "bug"]
"""art: an `ArtcheckError`. time, memory: over the limit. died: the process ended by itself.
stopped: somebody called `Process.stop`. bug: any other exception."""

MOST_SECONDS: Final = 300.0
"""Time one call may take: the slowest legal file (170 megapixels) takes a fifth of it."""

MOST_START_SECONDS: Final = 60.0
"""Time the process may take to start and import, beside what the call may take: a second where the
machine is idle, many where it is not, and no fault of the file's."""

MOST_MEMORY: Final = 4 * 1024**3
"""Bytes that one call may take above the idle process: five times the largest legal picture as RGBA
(170 megapixels, 680 MB)."""

MOST_WRITTEN: Final = 64 * 1024**2
"""Bytes that any one file written over there may reach. No reader or measurement writes one; the
fonts' and imports' caches of libraries do, and stay below a tenth of this."""

_OPENCV_NO_MEMORY: Final = -4
"""``cv::Error::StsNoMem``: OpenCV raises its own class instead of MemoryError."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What one call may use.

    ``seconds`` count from the moment the process has begun, ``memory_bytes`` is address space above
    that of the idle process (None: no limit), ``written_bytes`` the size of any one file that it
    may write, ``threads`` how many threads the numeric libraries may use (None: as they like).
    """

    seconds: float = MOST_SECONDS
    memory_bytes: int | None = MOST_MEMORY
    written_bytes: int = MOST_WRITTEN
    threads: int | None = None


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a call gave no value. ``code`` is the exit code that its error class has."""

    kind: FaultKind
    text: str
    code: int


class Process:
    """A process that runs functions for this one. One call at a time; `stop` from any thread."""

    def __init__(self, limits: Limits) -> None:
        """Start nothing yet: the first call does."""
        self.limits = limits
        self._child: subprocess.Popen[bytes] | None = None
        self._pipe: Connection[Any, Any] | None = None
        self._stopped = False
        self._lock = threading.Lock()

    def call(
        self, function: Callable[..., T], *arguments: Any, tell: Tell = lambda _: None
    ) -> T | Fault:
        """``function(tell, *arguments)`` over there: its value, or the fault that kept it away.

        ``function`` must be importable by its name, arguments and value must be picklable. After
        any fault but "art" the process is replaced at the next call.
        """
        outcome: T | Fault = self._outcome((function, arguments), tell)
        if isinstance(outcome, Fault) and outcome.kind != "art":
            self._end()
        return outcome

    def stop(self) -> None:
        """End the process; a call under way returns the fault "stopped". Later calls do so too."""
        with self._lock:
            self._stopped = True
            if self._child is not None:
                self._child.kill()

    @property
    def stopped(self) -> bool:
        """Whether `stop` was called."""
        return self._stopped

    def close(self) -> None:
        """Stop, and wait until the process is gone."""
        self.stop()
        self._end()

    def _outcome(self, task: object, tell: Tell) -> Any:
        deadline = time.monotonic() + max(self.limits.seconds, MOST_START_SECONDS)
        try:
            pipe = self._started()
            if pipe is None:
                return Fault("stopped", "It was stopped.", 1)
            pipe.send(task)
            while pipe.poll(max(deadline - time.monotonic(), 0)):
                kind, value = pipe.recv()
                if kind == "began":
                    deadline = time.monotonic() + self.limits.seconds
                elif kind == "doing":
                    tell(value)
                else:
                    return Fault(*value) if kind == "fault" else value
        except (EOFError, OSError):
            return self._died()
        return Fault(
            "time",
            f"It took longer than {self.limits.seconds:g} s. Send it smaller or simpler, or allow"
            " more time.",
            1,
        )

    def _started(self) -> Connection[Any, Any] | None:
        with self._lock:
            if self._stopped:
                return None
            if self._pipe is None:
                self._child, self._pipe = _start(self.limits)
            return self._pipe

    def _died(self) -> Fault:
        if self._stopped:
            return Fault("stopped", "It was stopped.", 1)
        assert self._child is not None
        code = self._child.wait()
        how = f"killed by {_signal_name(-code)}" if code < 0 else f"it ended with {code}"
        return Fault(
            "died",
            f"Its process died ({how}): it may need more memory than there is. Send it smaller.",
            1,
        )

    def _end(self) -> None:
        with self._lock:
            child, pipe, self._child, self._pipe = self._child, self._pipe, None, None
        if pipe is not None:
            pipe.close()
        if child is not None:
            child.kill()
            child.wait()


def _signal_name(number: int) -> str:
    try:
        return signal.Signals(number).name
    except ValueError:
        return f"signal {number}"


def _start(limits: Limits) -> tuple[subprocess.Popen[bytes], Connection[Any, Any]]:
    """A fresh interpreter that trusts the same folders as this one, and no others (``-P``)."""
    ours, theirs = Pipe()
    code = "import sys; from artcheck.isolated import serve; serve(*sys.argv[1:])"
    bounds = "" if limits.memory_bytes is None else str(limits.memory_bytes)
    paths = os.pathsep.join(path for path in map(os.path.abspath, sys.path))
    environment = os.environ | {"PYTHONPATH": paths}
    if limits.threads is not None:
        for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", _OPENCV_THREADS):
            environment[name] = str(limits.threads)
    try:
        child = subprocess.Popen(  # noqa: S603 -- our own interpreter and words of our own
            [
                sys.executable,
                "-P",
                "-c",
                code,
                str(theirs.fileno()),
                bounds,
                str(limits.written_bytes),
            ],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            pass_fds=(theirs.fileno(),),
            env=environment,
            start_new_session=True,  # Ctrl-C is the caller's to answer
        )
    except BaseException:
        ours.close()
        raise
    finally:
        theirs.close()
    return child, ours


# --- over there ---------------------------------------------------------------------------------

_OPENCV_THREADS: Final = "ARTCHECK_OPENCV_THREADS"
"""OpenCV reads no variable for its own threads; `serve` hands this one to it."""


def serve(descriptor: str, memory_bytes: str, written_bytes: str) -> None:
    """Run what comes down the pipe until its other end closes."""
    pipe: Connection[Any, Any] = Connection(int(descriptor))
    threading.Thread(target=_end_with_caller, args=(int(descriptor),), daemon=True).start()
    _limit_threads()
    _limit_files(int(written_bytes))
    bound = int(memory_bytes) if memory_bytes else None
    while True:
        try:
            function, arguments = pipe.recv()
        except (EOFError, ConnectionResetError):  # the caller has gone, perhaps in mid-word
            return
        _send(pipe, ("began", ""))
        with _memory_limit(bound):
            answer = _answer(function, arguments, pipe)
        _send(pipe, answer)


def _send(pipe: Any, said: tuple[str, Any]) -> None:
    try:
        pipe.send(said)
    except ConnectionError:  # the caller went while it was said: there is nobody to tell
        os._exit(0)


def _answer(function: Callable[..., Any], arguments: tuple[Any, ...], pipe: Any) -> tuple[str, Any]:
    try:
        return "value", function(lambda words: _send(pipe, ("doing", words)), *arguments)
    except ArtcheckError as stop:
        # A reader that ran out of memory says so in words of its own.
        kind = "memory" if _ran_out(stop.__context__) else "art"
        return "fault", (kind, str(stop), stop.exit_code)
    except Exception as bug:
        if _ran_out(bug):
            text = "It needs more memory than one file may take. Send it smaller."
            return "fault", ("memory", text, 1)
        with contextlib.suppress(OSError):  # a log that is over the files' limit
            traceback.print_exc(file=sys.stderr)
        text = f"A fault in artcheck itself ({type(bug).__name__}: {bug}). Please report it."
        return "fault", ("bug", text, INTERNAL_EXIT_CODE)


def _ran_out(error: BaseException | None) -> bool:
    return isinstance(error, MemoryError) or getattr(error, "code", None) == _OPENCV_NO_MEMORY


def _end_with_caller(descriptor: int) -> None:
    """A caller that is gone wants no result: leave at once, in the middle of a file too."""
    watch = select.poll()
    watch.register(descriptor, 0)  # 0: tells of nothing but the other end's closing
    watch.poll()
    os._exit(0)


def _limit_threads() -> None:
    threads = os.environ.get(_OPENCV_THREADS)
    if threads:
        import cv2

        cv2.setNumThreads(int(threads))


def _limit_files(written_bytes: int) -> None:
    """Bound what a file that is written may reach, and write none on a death.

    A core file would hold the customer's art.
    """
    try:
        import resource
    except ImportError:  # not a Unix
        return
    for which, wanted in ((resource.RLIMIT_FSIZE, written_bytes), (resource.RLIMIT_CORE, 0)):
        bound = _lesser(wanted, resource.getrlimit(which)[1])
        resource.setrlimit(which, (bound, bound))


@contextlib.contextmanager
def _memory_limit(memory_bytes: int | None) -> Any:
    """Bound the address space to what it is now and so much more."""
    if memory_bytes is None:
        yield
        return
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    wanted = _address_space() + memory_bytes
    resource.setrlimit(resource.RLIMIT_AS, (_lesser(wanted, hard), hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


def _lesser(wanted: int, hard: int) -> int:
    import resource

    return wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)


def _address_space() -> int:
    """Bytes of address space in use now; 0 where the system does not tell (not Linux)."""
    try:
        pages = Path("/proc/self/statm").read_text(encoding="ascii").split()[0]
    except OSError:
        return 0
    return int(pages) * os.sysconf("SC_PAGESIZE")
