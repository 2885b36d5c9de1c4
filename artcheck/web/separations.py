"""Separations that were asked for: each made once in a process of its own, the oldest let go."""

from __future__ import annotations

import hashlib
import json
import threading
from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final

from artcheck.domain.shop import Shop
from artcheck.isolated import Fault, Limits, Process
from artcheck.web.asking import Asked
from artcheck.web.folders import slug
from artcheck.web.plating import Made, make

MOST_HELD_BYTES: Final = 512 * 1024**2
"""Packed folders and pictures kept in memory, the least used going first. They are on no disk: a
crash leaves nothing of a customer's behind."""

LIMITS: Final = Limits(seconds=900)
"""The largest film (170 million pixels) takes minutes; whoever tires of waiting cancels."""

AT_ONCE: Final = 1
"""Separations made at once; more wait. One of a large sheet takes up to 2.4 GiB."""


@dataclass(slots=True)
class Making:
    """One separation under way or done: exactly one of ``made`` and ``fault`` at its end."""

    doing: str = "waiting"
    made: Made | None = None
    fault: str | None = None
    cancelled: bool = False


class Separations:
    """What was asked for, by a key of everything that it depends on. Safe to use from threads."""

    def __init__(self, shop: Shop) -> None:
        """Start with nothing held."""
        self._shop = shop
        self._held: OrderedDict[str, Making] = OrderedDict()
        self._lock = threading.Lock()
        self._process, self._running = Process(LIMITS), Making()
        self._threads = ThreadPoolExecutor(AT_ONCE, thread_name_prefix="separating")

    def begin(self, asked: Asked, data: bytes) -> str:
        """Begin making what is asked for, unless it is made or being made; its key.

        What failed is tried anew.
        """
        key = key_of(asked)
        with self._lock:
            held = self._held.get(key)
            if held is not None and held.fault is None:
                self._held.move_to_end(key)
                return key
            making = self._held[key] = Making()
        self._threads.submit(self._run, making, asked, data)
        return key

    def look(self, key: str) -> Making | None:
        """A separation under its key; None where nobody asked for it, or it was let go."""
        with self._lock:
            held = self._held.get(key)
            if held is not None:
                self._held.move_to_end(key)
            return held

    def made(self, asked: Asked) -> dict[int, Made]:
        """What is ready for the order as it is asked for, by print."""
        found = {}
        for index in range(len(asked.order.prints)):
            making = self.look(key_of(asked.showing(index)))
            if making is not None and making.made is not None:
                found[index] = making.made
        return found

    def cancel(self, key: str) -> None:
        """Stop a separation that is under way, and forget it. One that is done stays."""
        with self._lock:
            making = self._held.get(key)
            if making is not None and making.made is None:
                del self._held[key]
                making.cancelled = True
                if making is self._running:
                    self._process.stop()

    def close(self) -> None:
        """Stop everything; the threads end with their processes."""
        with self._lock:
            keys = list(self._held)
        for key in keys:
            self.cancel(key)
        self._threads.shutdown(wait=True, cancel_futures=True)
        self._process.close()

    # --- in the threads -------------------------------------------------------------------------

    def _run(self, making: Making, asked: Asked, data: bytes) -> None:
        process = self._process_for(making)
        if process is None:
            return

        def tell(words: str) -> None:
            making.doing = words

        order, index = asked.order, asked.shown
        options, folder = asked.wishes[index], folder_of(asked)
        try:
            got = process.call(make, data, order, index, self._shop, options, folder, tell=tell)
            if isinstance(got, Fault):
                making.fault = got.text
            else:
                making.made = got
                self._let_go()
        except Exception:
            making.fault = "A fault in artcheck itself. Please report it."
            raise

    def _process_for(self, making: Making) -> Process | None:
        """The process, which is kept for the next: its imports take a second. Anew after a stop."""
        with self._lock:
            if making.cancelled:
                return None
            self._running = making
            if self._process.stopped:
                self._process.close()
                self._process = Process(LIMITS)
            return self._process

    def _let_go(self) -> None:
        """Forget the least used results beyond the budget; the newest stays whatever its size."""
        with self._lock:
            made = [(key, one.made.size_bytes) for key, one in self._held.items() if one.made]
            over = sum(size for _, size in made) - MOST_HELD_BYTES
            for key, size in made[:-1]:
                if over <= 0:
                    return
                over -= size
                del self._held[key]


def key_of(asked: Asked) -> str:
    """A name of what is asked for: the same order, art and options give the same.

    No plate depends on what the papers alone say.
    """
    facts = [
        asked.order.model_dump(mode="json", exclude={"number", "date", "needed_by"}),
        asked.digests[asked.shown],
        asked.shown,
        asked.wishes[asked.shown].model_dump(mode="json"),
    ]
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()


def folder_of(asked: Asked) -> str:
    """The job folder's name: the order's, with the print's number where there are several."""
    order = asked.order
    stem = order.prints[asked.shown].art.rpartition(".")[0]
    base = slug(order.name or order.customer or stem)
    return f"{base}-print-{asked.shown + 1}" if len(order.prints) > 1 else base
