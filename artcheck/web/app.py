"""The server: addresses, and what each answers. Nothing is reckoned here."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path
from typing import Any, Final

from fastapi import FastAPI, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse
from starlette.concurrency import run_in_threadpool

from artcheck.domain.artwork import BackgroundChoice
from artcheck.domain.shop import Shop
from artcheck.errors import ArtcheckError, OrderFileError
from artcheck.reading.sniff import kind_of
from artcheck.report.data import to_json
from artcheck.report.pictures import Picture
from artcheck.shop import load_shop
from artcheck.version import __version__
from artcheck.web.answer import answer, methods_of, order_report, render, shown_name
from artcheck.web.asking import asked_of, fault
from artcheck.web.bodies import UnderWay, body_of
from artcheck.web.describe import (
    ANY_FILE,
    EVERYWHERE,
    FILE_BODY,
    ORDER_BODY,
    PAGE,
    PICTURE,
    WITH_A_BODY,
    ZIP,
    describe,
)
from artcheck.web.desk import ArtKey, Desk, Task
from artcheck.web.folders import Folders, KeptJob
from artcheck.web.guard import KEPT_PAGE_POLICY, guard
from artcheck.web.papers import PaperRoom, add_papers
from artcheck.web.separating import add_separations, state_of
from artcheck.web.separations import Separations, key_of
from artcheck.web.turns import reckoned, turns

MOST_UPLOAD_BYTES: Final = 256 * 1024**2
"""One file over the page; larger ones (rolls without compression) go through the command line."""

WORKSPACE: Final = "artcheck-jobs"

_MIME: Final = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}


def create_app(
    *,
    shop: Shop | None = None,
    workspace: Path | None = None,
    network: bool = False,
    desk: Desk | None = None,
) -> FastAPI:
    """The page's server, for any ASGI host.

    Parameters
    ----------
    shop
        Prices and limits; the invented demo shop without one.
    workspace
        Folder for job folders, made when the first job is kept.
    network
        Other computers may call by address. There is no password: leave it off.
    desk
        What holds files and measurements; made here without one.
    """
    shop, desk = shop or load_shop(), desk or Desk()
    folders = Folders(workspace or Path(WORKSPACE))
    separations = Separations(shop)
    papers = PaperRoom(shop)

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        yield
        separations.close()
        papers.close()
        desk.close()

    app = FastAPI(
        title="artcheck",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        responses=EVERYWHERE,
        lifespan=life,
        # No word about requests leaves the computer; releases without telemetry ignore this.
        telemetry={"tracing": False, "metrics": False, "logs": False, "auto_configure": False},
    )
    app.state.under_way, app.state.turns = UnderWay(), turns()
    app.middleware("http")(guard(network))
    app.add_exception_handler(ArtcheckError, _told)
    describe(app)
    _add_page(app, shop)
    _add_art(app, desk, folders)
    _add_orders(app, desk, shop, separations)
    add_separations(app, desk, separations, shop)
    add_papers(app, desk, papers)
    _add_keeping(app, desk, folders, shop, separations, papers)
    _add_jobs(app, desk, folders)
    return app


async def _told(_: Request, stop: Exception) -> Response:
    """An error of ours: its lines, in plain words."""
    faults = stop.faults if isinstance(stop, OrderFileError) else (str(stop),)
    return JSONResponse({"faults": list(faults)}, 422)


# --- the page -----------------------------------------------------------------------------------


def _add_page(app: FastAPI, shop: Shop) -> None:
    page = render("desk.html", shop=shop, version=__version__)
    static = {
        file.name: (file.read_bytes(), _MIME[Path(file.name).suffix])
        for file in (resources.files("artcheck.web") / "static").iterdir()
        if Path(file.name).suffix in _MIME
    }

    @app.get("/", response_class=Response, responses=PAGE)
    def _page() -> HTMLResponse:
        return HTMLResponse(page)

    @app.get("/static/{name}", response_class=Response, responses=ANY_FILE)
    def _static(name: str) -> Response:
        if name not in static:
            raise HTTPException(404)
        data, mime = static[name]
        return Response(data, media_type=mime)


# --- art ----------------------------------------------------------------------------------------


def _add_art(app: FastAPI, desk: Desk, folders: Folders) -> None:
    @app.put("/api/art", responses=WITH_A_BODY, openapi_extra=FILE_BODY)
    async def _receive(request: Request, name: str = "") -> JSONResponse:
        shown = shown_name(name)
        data = await body_of(request, MOST_UPLOAD_BYTES, shown)
        if not data:
            return fault(f"{shown} is empty. Ask for the file again.", 422)
        kind_of(data, shown)
        return JSONResponse({"art": desk.receive(data), "file": shown})

    @app.get("/api/art/{digest}")
    def _look(
        digest: str, name: str = "", background: BackgroundChoice = "auto", page: int = 1
    ) -> JSONResponse:
        task = desk.look(ArtKey(digest, background, max(page, 1)), shown_name(name))
        if task is None:
            return fault("This file is no longer held here. Drop it once more.", 404)
        return JSONResponse(_state(task, folders))

    @app.delete("/api/art/{digest}")
    def _cancel(digest: str) -> JSONResponse:
        desk.cancel(digest)
        return JSONResponse({"state": "stopped"})

    @app.get("/api/art/{digest}/{which}", response_class=Response, responses=PICTURE)
    def _picture(
        digest: str, which: str, background: BackgroundChoice = "auto", page: int = 1
    ) -> Response:
        seen = desk.seen(ArtKey(digest, background, page))
        pictures: dict[str, Picture | None] = (
            {"picture": seen.picture, "removed": seen.removed} if seen else {}
        )
        picture = pictures.get(which)
        if picture is None:
            raise HTTPException(404)
        return Response(picture.data, media_type=picture.mime)


def _state(task: Task, folders: Folders) -> dict[str, Any]:
    if task.fault is not None:
        return {"state": "fault", "faults": [task.fault]}
    seen = task.seen
    if seen is None:
        return {"state": "measuring", "doing": task.doing}
    return {
        "state": "ready",
        "width_px": seen.picture.width_px,
        "height_px": seen.picture.height_px,
        "removed": seen.removed is not None,
        "kind": seen.measured.kind,
        "before": [
            {"job": name, "name": _job_words(name, job), "same": same}
            for name, job, same in folders.like(task.key.digest, seen.likeness)
        ],
    }


# --- orders -------------------------------------------------------------------------------------


def _add_orders(app: FastAPI, desk: Desk, shop: Shop, separations: Separations) -> None:
    @app.post("/api/evaluate", responses=WITH_A_BODY, openapi_extra=ORDER_BODY)
    async def _evaluate(request: Request) -> JSONResponse:
        asked = await asked_of(request, desk)
        data = await reckoned(request, answer, asked.order, asked.seen, shop, asked.shown)
        key = key_of(asked.by(data["methods"]))
        return JSONResponse(data | {"separation": [key, state_of(key, separations)]})

    @app.post("/api/report", responses=WITH_A_BODY, openapi_extra=ORDER_BODY)
    async def _report(request: Request) -> Response:
        asked = await asked_of(request, desk)
        whole = await reckoned(request, order_report, asked.order, asked.seen, shop)
        one = whole.prints[0] if len(whole.prints) == 1 else whole
        return Response(to_json(one), media_type="application/json")


def _add_keeping(
    app: FastAPI,
    desk: Desk,
    folders: Folders,
    shop: Shop,
    separations: Separations,
    papers: PaperRoom,
) -> None:
    @app.post("/api/jobs", responses=WITH_A_BODY, openapi_extra=ORDER_BODY)
    async def _keep(request: Request) -> JSONResponse:
        asked = await asked_of(request, desk)
        files = [data for d in asked.digests if (data := desk.file(d)) is not None]
        if len(files) < len(asked.digests):
            return fault("A file of this order is no longer held. Drop it once more.", 404)
        report = await reckoned(request, order_report, asked.order, asked.seen, shop)
        made = separations.made(asked.by(methods_of(report)))
        name = await run_in_threadpool(folders.keep, asked, report, files, made, papers.made(asked))
        return JSONResponse({"job": name, "folder": str(folders.workspace / name)})


# --- job folders --------------------------------------------------------------------------------


def _add_jobs(app: FastAPI, desk: Desk, folders: Folders) -> None:
    @app.get("/api/jobs")
    def _jobs() -> JSONResponse:
        return JSONResponse(
            [
                {"job": name, "name": _job_words(name, job), "headline": job.headline}
                for name, job in folders.jobs().items()
            ]
        )

    @app.post("/api/jobs/{name}/repeat")
    def _repeat(name: str) -> JSONResponse:
        job = folders.jobs().get(name)
        if job is None:
            return fault("There is no such job folder.", 404)
        files = [folders.art(name, art) for art in job.arts]
        if any(data is None for data in files):
            return fault("The art in this job folder is gone or was changed. Drop the file.", 404)
        wishes = [one.model_dump(mode="json") for one in job.wishes]
        digests = [desk.receive(data) for data in files if data is not None]
        return JSONResponse(
            {"order": job.order.model_dump(mode="json"), "arts": digests, "separations": wishes}
        )

    @app.get("/jobs/{name}/report.html", response_class=Response, responses=PAGE)
    def _kept_page(name: str) -> Response:
        data = folders.file(name, "report.html")
        if data is None:
            raise HTTPException(404)
        return HTMLResponse(data, headers={"Content-Security-Policy": KEPT_PAGE_POLICY})

    @app.get("/jobs/{name}/{name_again}.zip", response_class=Response, responses=ZIP)
    def _zip(name: str, name_again: str) -> Response:
        data = folders.zipped(name) if name == name_again else None
        if data is None:
            raise HTTPException(404)
        return Response(data, media_type="application/zip")


def _job_words(name: str, job: KeptJob) -> str:
    return job.order.name or job.order.prints[0].art or name
