"""Where files are worked on: processes of this machine, or the workers of a cluster.

Both are a ``concurrent.futures.Executor``; nothing else of the run depends on which it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final

from artcheck.batch.work import stop_processes
from artcheck.errors import ClusterError, MissingToolError

CONNECT_SECONDS: Final = 10
"""How long a scheduler may take to answer."""


@dataclass(frozen=True, slots=True)
class Crew:
    """Who works: an executor, and how many files it can take at once (it may change)."""

    executor: Executor
    size: Callable[[], int]


@contextmanager
def local_crew(workers: int) -> Iterator[Crew]:
    """Threads that each wait for a process of their own; ended at the end, whatever happened."""
    executor = ThreadPoolExecutor(workers, thread_name_prefix="batch")
    try:
        yield Crew(executor, lambda: workers)
    finally:
        stop_processes()
        executor.shutdown(cancel_futures=True)


@contextmanager
def cluster_crew(address: str) -> Iterator[Crew]:
    """The workers of a Dask cluster, which must see the files under the same paths.

    Raises
    ------
    MissingToolError
        The extra "cluster" is not installed.
    ClusterError
        No scheduler answers at the address, or it went away in the middle.
    """
    client = _connected(address)
    try:
        yield Crew(client.get_executor(pure=False), lambda: _threads(client))
    except _losses():
        raise ClusterError(
            f"The cluster at {address} went away. What is finished is kept: start it again and run"
            " the same command."
        ) from None
    finally:
        client.close()


def _connected(address: str) -> Any:
    try:
        from distributed import Client
        from distributed.comm import get_address_host_port
    except ImportError:
        raise MissingToolError(
            "--cluster needs Dask distributed. Install it: pip install 'artcheck[cluster]'."
        ) from None
    try:
        get_address_host_port(address)  # a client that never began to connect complains at its end
        return Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
    except (OSError, ValueError) as fault:
        reason = " ".join(str(fault).split())[:120]
        raise ClusterError(
            f"No cluster answers at {address} ({reason}). Start a scheduler and workers there, or"
            " leave --cluster out."
        ) from None


def _losses() -> tuple[type[Exception], ...]:
    """What a client raises once its scheduler is gone."""
    from distributed.client import ClosedClientError
    from distributed.comm import CommClosedError

    return CancelledError, ClosedClientError, CommClosedError


def _threads(client: Any) -> int:
    """Threads of all workers that are there now; 1 where none is, so that one file waits for it."""
    there = sum(int(threads) for threads in client.nthreads().values())
    return max(there, 1)
