"""Request heads that come too slowly: the server library waits for them for ever."""

from __future__ import annotations

import asyncio
from typing import Final

from uvicorn.protocols.http.h11_impl import H11Protocol

MOST_SECONDS: Final = 20.0
"""For a whole head, from the connection or from the answer before it on."""


class TimedHeads(H11Protocol):
    """HTTP as the library speaks it; a connection whose next request does not begin is closed.

    What comes behind the head has limits of its own (`bodies`).
    """

    _waiting: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Start to wait for the first head."""
        super().connection_made(transport)
        self._watch()

    def data_received(self, data: bytes) -> None:
        """Look whether the head is whole now."""
        super().data_received(data)
        self._watch()

    def on_response_complete(self) -> None:
        """Start to wait for the next head."""
        super().on_response_complete()
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop waiting."""
        self._stop()
        super().connection_lost(exc)

    def _watch(self) -> None:
        between = self.cycle is None or self.cycle.response_complete
        if not between:
            self._stop()
        elif self._waiting is None:
            self._waiting = self.loop.call_later(MOST_SECONDS, self.transport.close)

    def _stop(self) -> None:
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None
