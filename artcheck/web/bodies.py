"""Bodies of requests: within their budgets of bytes and time, one by one and all together."""

from __future__ import annotations

import asyncio
from typing import Final

from fastapi import HTTPException, Request
from starlette.requests import ClientDisconnect

MOST_UNDER_WAY_BYTES: Final = 768 * 1024**2
"""Bytes of all bodies that are arriving: three of the largest files at once. Who sends beyond it is
asked to send again, instead of the computer running out of memory."""

MOST_SILENT_SECONDS: Final = 20.0
"""A sender that says nothing for so long is let go: a wireless network pauses for a few seconds."""

MOST_SECONDS: Final = 180.0
"""One body's time: the largest file over a slow wireless network (2 MB/s) takes 130 s."""


class UnderWay:
    """Bytes of bodies that are arriving now. Used by the server's one event loop alone."""

    def __init__(self) -> None:
        """Begin with none."""
        self.held = 0


async def body_of(request: Request, most: int, name: str) -> bytes:
    """The request's body, given up as soon as it is over a budget.

    Raises
    ------
    HTTPException
        413: it is too large. 429: too much is arriving at once. 408: it comes too slowly.
        400: its sender is gone.
    """
    told = request.headers.get("content-length", "")
    if told.isdecimal() and int(told[:20]) > most:
        raise HTTPException(413, _too_large(name, most))
    under_way: UnderWay = request.app.state.under_way
    data = bytearray()
    try:
        await _fill(data, request, most, name, under_way)
    except TimeoutError:
        raise HTTPException(408, f"{name} came too slowly. Send it once more.") from None
    except ClientDisconnect:
        raise HTTPException(400, f"{name} broke off. Send it once more.") from None
    finally:
        under_way.held -= len(data)
    return bytes(data)


async def _fill(
    data: bytearray, request: Request, most: int, name: str, under_way: UnderWay
) -> None:
    clock = asyncio.get_running_loop().time
    end = clock() + MOST_SECONDS
    async with asyncio.timeout(MOST_SILENT_SECONDS) as wait:
        async for chunk in request.stream():
            wait.reschedule(min(end, clock() + MOST_SILENT_SECONDS))
            data += chunk
            under_way.held += len(chunk)
            if len(data) > most:
                raise HTTPException(413, _too_large(name, most))
            if under_way.held > MOST_UNDER_WAY_BYTES:
                words = "Too many files are arriving at once. Send this one again in a moment."
                raise HTTPException(429, words, headers={"Retry-After": "5"})


def _too_large(name: str, most: int) -> str:
    return (
        f"{name} is larger than {most // 1024**2} MB, the most that the page takes. Send it"
        " compressed, or use artcheck check."
    )
