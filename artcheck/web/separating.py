"""The addresses of the separation panel."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import FastAPI, HTTPException, Query, Request, Response
from fastapi.responses import JSONResponse

from artcheck.domain.artwork import BackgroundChoice
from artcheck.domain.shop import Shop
from artcheck.report import job_words
from artcheck.report.ladder_pictures import in_inks
from artcheck.report.pictures import UNKNOWN_GARMENT_HEX, Picture
from artcheck.web.answer import methods_of, order_report, render
from artcheck.web.asking import asked_of, fault
from artcheck.web.describe import ORDER_BODY, PICTURE, WITH_A_BODY, ZIP
from artcheck.web.desk import ArtKey, Desk
from artcheck.web.plating import Made
from artcheck.web.separations import Making, Separations
from artcheck.web.turns import reckoned

_ONE_COLOUR: Final = "^#[0-9a-f]{6}$"
_SOME_COLOURS: Final = "^#[0-9a-f]{6}(,#[0-9a-f]{6}){0,23}$"

GONE: Final = "These plates are no longer held here. Make them once more."


def add_separations(app: FastAPI, desk: Desk, separations: Separations, shop: Shop) -> None:
    """Begin one, follow it, stop it; look at its plates, take its job folder."""
    _add_making(app, desk, separations, shop)
    _add_results(app, separations)
    _add_ladder(app, desk, shop)


def _add_making(app: FastAPI, desk: Desk, separations: Separations, shop: Shop) -> None:
    @app.post("/api/separations", responses=WITH_A_BODY, openapi_extra=ORDER_BODY)
    async def _begin(request: Request) -> JSONResponse:
        asked = await asked_of(request, desk)
        data = desk.file(asked.digests[asked.shown])
        if data is None:
            return fault("The file of this print is no longer held. Drop it once more.", 404)
        whole = await reckoned(request, order_report, asked.order, asked.seen, shop)
        return JSONResponse({"key": separations.begin(asked.by(methods_of(whole)), data)})

    @app.get("/api/separations/{key}")
    def _look(key: str) -> JSONResponse:
        making = separations.look(key)
        if making is None:
            return fault(GONE, 404)
        return JSONResponse(_state(key, making))

    @app.delete("/api/separations/{key}")
    def _cancel(key: str) -> JSONResponse:
        separations.cancel(key)
        return JSONResponse({"state": "none"})


def _add_results(app: FastAPI, separations: Separations) -> None:
    @app.get("/api/separations/{key}/proof", response_class=Response, responses=PICTURE)
    def _proof(key: str) -> Response:
        return _picture(_made(separations, key).proof)

    @app.get("/api/separations/{key}/plates/{order}", response_class=Response, responses=PICTURE)
    def _plate(key: str, order: int) -> Response:
        plates = _made(separations, key).plates
        if not 1 <= order <= len(plates):
            raise HTTPException(404)
        return _picture(plates[order - 1])

    @app.get("/api/separations/{key}/{name}.zip", response_class=Response, responses=ZIP)
    def _zip(key: str, name: str) -> Response:
        made = _made(separations, key)
        if name != made.folder:
            raise HTTPException(404)
        return Response(made.packed, media_type="application/zip")


def _add_ladder(app: FastAPI, desk: Desk, shop: Shop) -> None:
    within = shop.limits.garment_match.change

    @app.get("/api/ladder/{digest}", response_class=Response, responses=PICTURE)
    def _in_inks(
        digest: str,
        inks: Annotated[str, Query(pattern=_SOME_COLOURS)],
        garment: Annotated[str | None, Query(pattern=_ONE_COLOUR)] = None,
        background: BackgroundChoice = "auto",
        page: int = 1,
    ) -> Response:
        seen = desk.seen(ArtKey(digest, background, page))
        if seen is None:
            raise HTTPException(404)
        return _picture(in_inks(seen.picture, inks.split(","), garment, within))


def state_of(key: str, separations: Separations) -> str:
    """How far a separation is: none, making, fault or ready."""
    making = separations.look(key)
    if making is None:
        return "none"
    return "ready" if making.made else "fault" if making.fault else "making"


def _state(key: str, making: Making) -> dict[str, Any]:
    if making.fault is not None:
        return {"state": "fault", "faults": [making.fault]}
    made = making.made
    if made is None:
        return {"state": "making", "doing": making.doing}
    return {
        "state": "ready",
        "cloth": made.manifest.garment.hex or UNKNOWN_GARMENT_HEX,
        "html": render("made.html", key=key, made=made, job_words=job_words),
    }


def _made(separations: Separations, key: str) -> Made:
    making = separations.look(key)
    if making is None or making.made is None:
        raise HTTPException(404, GONE)
    return making.made


def _picture(picture: Picture) -> Response:
    return Response(picture.data, media_type=picture.mime)
