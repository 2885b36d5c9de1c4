"""Long answers wait for their turn, so that short ones need not."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any, Final, TypeVar

from fastapi import Request
from starlette.concurrency import run_in_threadpool

T = TypeVar("T")

AT_ONCE: Final = 2
"""Orders reckoned at once. Threads of one interpreter take turns: more of them answer no sooner,
and each makes whoever asks for a picture or how far a file is wait as well."""


def turns() -> asyncio.Semaphore:
    """The turns of one server."""
    return asyncio.Semaphore(AT_ONCE)


async def reckoned(request: Request, function: Callable[..., T], *arguments: Any) -> T:
    """``function(*arguments)`` in a thread, when its turn comes."""
    async with request.app.state.turns:
        return await run_in_threadpool(function, *arguments)
