"""The papers on the page: made in a process of their own, held in memory, shown and packed."""

from __future__ import annotations

import asyncio
import hashlib
import io
import json
import threading
import zipfile
from collections import OrderedDict
from collections.abc import Sequence
from typing import Final

from fastapi import FastAPI, HTTPException, Request, Response
from fastapi.responses import JSONResponse
from starlette.concurrency import run_in_threadpool

from artcheck.domain.shop import Shop
from artcheck.isolated import Fault, Limits, Process
from artcheck.report.job_files import add_to_zip
from artcheck.report.papers import TITLES, Papers
from artcheck.web.answer import named, render
from artcheck.web.asking import Asked, asked_of, fault
from artcheck.web.describe import ANY_FILE, ORDER_BODY, WITH_A_BODY
from artcheck.web.desk import Desk
from artcheck.web.folders import slug
from artcheck.web.guard import KEPT_PAGE_POLICY
from artcheck.web.papering import make_papers

LIMITS: Final = Limits(seconds=300)
"""Papers of two dozen large prints take a minute: each file is read again."""

MOST_HELD: Final = 20
"""Orders whose papers are kept in memory, the least used going first: a megabyte or two each."""

_MIME: Final = {
    "pdf": "application/pdf",
    "html": "text/html; charset=utf-8",
    "json": "application/json",
}


class PaperRoom:
    """Papers by a key of everything that they depend on. Safe to use from threads."""

    def __init__(self, shop: Shop) -> None:
        """Start with nothing held."""
        self._shop = shop
        self._held: OrderedDict[str, tuple[str, Papers]] = OrderedDict()
        self._lock = threading.Lock()
        self._process = Process(LIMITS)

    def make(self, asked: Asked, files: Sequence[bytes]) -> str | Fault:
        """The key of the order's papers, made unless they are held; or why there are none.

        One call at a time.
        """
        key = paper_key(asked)
        if self.look(key) is not None:
            return key
        measured = named(asked.order, asked.seen)
        made = self._process.call(make_papers, measured, files, asked.order, self._shop)
        if isinstance(made, Fault):
            return made
        with self._lock:
            self._held[key] = folder_of(asked), made
            while len(self._held) > MOST_HELD:
                self._held.popitem(last=False)
        return key

    def look(self, key: str) -> tuple[str, Papers] | None:
        """The folder's name and the papers; None where they were not made, or let go."""
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
            return self._held.get(key)

    def made(self, asked: Asked) -> dict[str, bytes]:
        """The files of an order's papers, where they are made."""
        held = self.look(paper_key(asked))
        return {} if held is None else dict(held[1].files)

    def close(self) -> None:
        """Stop everything."""
        self._process.close()


def paper_key(asked: Asked) -> str:
    """A name of what is asked for: the same order and art give the same."""
    facts = [asked.order.model_dump(mode="json"), asked.digests]
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()


def folder_of(asked: Asked) -> str:
    """What the packed folder is called."""
    order = asked.order
    stem = order.prints[0].art.rpartition(".")[0]
    return slug(" ".join((order.number, order.name or order.customer or stem)))


def add_papers(app: FastAPI, desk: Desk, room: PaperRoom) -> None:
    """Make an order's papers; look at one, take them all."""
    turn = asyncio.Lock()  # who waits for the process keeps no thread from the rest of the page

    @app.post("/api/papers", responses=WITH_A_BODY, openapi_extra=ORDER_BODY)
    async def _make(request: Request) -> JSONResponse:
        asked = await asked_of(request, desk)
        files = [data for d in asked.digests if (data := desk.file(d)) is not None]
        if len(files) < len(asked.digests):
            return fault("A file of this order is no longer held. Drop it once more.", 404)
        async with turn:
            key = await run_in_threadpool(room.make, asked, files)
        if isinstance(key, Fault):
            return fault(key.text, 422)
        folder, papers = _held(room, key)
        html = render("papers.html", key=key, folder=folder, papers=papers, titles=TITLES)
        return JSONResponse({"key": key, "html": html})

    @app.get("/api/papers/{key}/{file}", response_class=Response, responses=ANY_FILE)
    def _look(key: str, file: str) -> Response:
        folder, papers = _held(room, key)
        if file == f"{folder}.zip":
            return Response(_packed(folder, papers), media_type="application/zip")
        if file not in papers.files:
            raise HTTPException(404)
        mime = _MIME[file.rpartition(".")[2]]
        headers = {"Content-Security-Policy": KEPT_PAGE_POLICY} if "html" in mime else {}
        return Response(papers.files[file], media_type=mime, headers=headers)


def _held(room: PaperRoom, key: str) -> tuple[str, Papers]:
    held = room.look(key)
    if held is None:
        raise HTTPException(404, "These papers are no longer held here. Make them once more.")
    return held


def _packed(folder: str, papers: Papers) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as zipped:
        for name, data in sorted(papers.files.items()):
            add_to_zip(zipped, f"{folder}/{name}", data)
    return packed.getvalue()
