"""What the addresses take and answer, for the server's OpenAPI description."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.openapi.utils import get_openapi
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from artcheck.domain.order import Order
from artcheck.domain.separating import SeparationOptions
from artcheck.version import __version__
from artcheck.web.asking import MOST_PRINTS

_REFS: Final = "#/components/schemas/{model}"


class AskedBody(BaseModel):
    """An order with its art: a file's hash for each print; ``shown`` is the print in front."""

    arts: Annotated[list[str], Field(min_length=1, max_length=MOST_PRINTS)]
    order: Order
    shown: int = 0
    separations: list[SeparationOptions] | None = None


class Refusal(BaseModel):
    """Why there is no answer, in plain words."""

    faults: list[str]


def refusals(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The refusals that an address knows, beside those of every one."""
    return {status: {"model": Refusal, "description": "Refused"} for status in statuses}


EVERYWHERE: Final[dict[int | str, dict[str, Any]]] = {
    403: {"description": "Not for whoever asks", "content": {"text/plain": {}}},
    **refusals(404, 422),
}
"""Refusals of every address: the guard's, nothing there, and a request with faults."""

WITH_A_BODY: Final = refusals(400, 408, 413, 429)

PICTURE: Final[dict[int | str, dict[str, Any]]] = {
    200: {"description": "A picture", "content": {"image/png": {}, "image/jpeg": {}}}
}

ZIP: Final[dict[int | str, dict[str, Any]]] = {
    200: {"description": "A packed folder", "content": {"application/zip": {}}}
}

PAGE: Final[dict[int | str, dict[str, Any]]] = {
    200: {"description": "A page", "content": {"text/html": {}}}
}

ANY_FILE: Final[dict[int | str, dict[str, Any]]] = {
    200: {
        "description": "A file, by its kind",
        "content": {
            kind: {}
            for kind in (
                *("text/html", "text/css", "text/javascript", "image/svg+xml"),
                *("application/pdf", "application/json", "application/zip"),
            )
        },
    }
}

FILE_BODY: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}

ORDER_BODY: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {"application/json": {"schema": {"$ref": _REFS.format(model="AskedBody")}}},
    }
}


def describe(app: FastAPI) -> None:
    """Have the app tell of bodies that it reads itself, and refuse everywhere in one shape."""

    def told() -> dict[str, Any]:
        if app.openapi_schema is None:
            found = get_openapi(title=app.title, version=__version__, routes=app.routes)
            body = AskedBody.model_json_schema(ref_template=_REFS)
            parts = {**body.pop("$defs"), "AskedBody": body}
            found.setdefault("components", {}).setdefault("schemas", {}).update(parts)
            app.openapi_schema = found
        return app.openapi_schema

    app.openapi = told  # type: ignore[method-assign] # how FastAPI has it done
    app.add_exception_handler(HTTPException, _refused)
    app.add_exception_handler(RequestValidationError, _not_understood)


async def _refused(_: Request, stop: Exception) -> Response:
    assert isinstance(stop, HTTPException)
    return JSONResponse({"faults": [stop.detail]}, stop.status_code, headers=stop.headers)


async def _not_understood(_: Request, stop: Exception) -> Response:
    assert isinstance(stop, RequestValidationError)
    faults = [f"{'.'.join(map(str, one['loc']))}: {one['msg']}" for one in stop.errors()]
    return JSONResponse({"faults": faults}, 422)
