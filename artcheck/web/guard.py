"""Who may talk to the server, and what a browser may do with its pages.

The server has no password: what protects it is that only this computer's own pages reach it. A
page of a stranger that is open in the same browser must not, under whatever name it calls.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Awaitable, Callable
from typing import Final
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

LOOPBACK_NAMES: Final = frozenset({"localhost", "127.0.0.1", "::1"})

PAGE_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:;"
    " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""Nothing from elsewhere, nothing inline."""

KEPT_PAGE_POLICY: Final = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none';"
    " form-action 'none'; frame-ancestors 'none'; sandbox"
)
"""For report.html out of a job folder, which anybody may have changed: no script, no origin."""

HEADERS: Final = {
    "Content-Security-Policy": PAGE_POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cache-Control": "no-store",
}

Next = Callable[[Request], Awaitable[Response]]


def guard(network: bool) -> Callable[[Request, Next], Awaitable[Response]]:
    """The check before every request. ``network``: other computers may call, by address."""

    async def checked(request: Request, call_next: Next) -> Response:
        refusal = refused(request, network=network)
        response = PlainTextResponse(refusal, 403) if refusal else await call_next(request)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response

    return checked


def refused(request: Request, *, network: bool) -> str | None:
    """Why a request is turned away; None where it is let in."""
    host = request.headers.get("host", "")
    if not _is_ours(host, network=network):
        return "This server answers to this computer's own address only."
    origin = request.headers.get("origin")
    if origin is not None and urlsplit(origin).netloc != host:
        return "Another site's page may not use this server."
    followed = request.method == "GET" and request.headers.get("sec-fetch-mode") == "navigate"
    if request.headers.get("sec-fetch-site") in ("cross-site", "same-site") and not followed:
        return "Another site's page may not use this server."
    return None


def _is_ours(host: str, *, network: bool) -> bool:
    """Names can be pointed anywhere by whoever owns them; this computer's addresses cannot."""
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return False
    return name in LOOPBACK_NAMES or (network and _is_address(name))


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def is_loopback(host: str) -> bool:
    """Whether an address to listen on can be reached from this computer alone."""
    return host in LOOPBACK_NAMES or (_is_address(host) and ipaddress.ip_address(host).is_loopback)
