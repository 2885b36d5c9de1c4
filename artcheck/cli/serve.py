"""The serve command: the page at the desk, for this computer alone unless told otherwise."""

from __future__ import annotations

import socket
from pathlib import Path
from typing import Final

from rich.console import Console

from artcheck.errors import UsageError

STOPPING_SECONDS: Final = 10
"""Answers under way may end when the server is stopped; who is still sending then is cut off."""


def run_serve(
    host: str,
    port: int,
    *,
    shop_file: Path | None,
    profile: Path | None,
    workspace: Path,
    allow_network: bool,
) -> None:
    """Serve until Ctrl-C.

    Raises
    ------
    UsageError
        The address cannot be listened on, or others could reach it and nobody said they may.
    ShopFileError
        The shop file has faults.
    """
    import uvicorn

    from artcheck.cli.check import with_profile
    from artcheck.shop import load_shop
    from artcheck.web import create_app
    from artcheck.web.heads import TimedHeads

    check_address(host, allow_network=allow_network)
    shop = with_profile(load_shop(shop_file), profile)
    with listening(host, port) as listener:
        shown, used = listener.getsockname()[:2]
        address = f"http://[{shown}]:{used}/" if ":" in shown else f"http://{shown}:{used}/"
        console = Console(highlight=False)
        console.print(f"artcheck is at {address} (Ctrl-C stops it)", markup=False)
        app = create_app(shop=shop, workspace=workspace, network=allow_network)
        config = uvicorn.Config(
            app,
            http=TimedHeads,
            log_level="warning",
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=STOPPING_SECONDS,
        )
        uvicorn.Server(config).run(sockets=[listener])


def check_address(host: str, *, allow_network: bool) -> None:
    """Refuse an address that others can reach, unless the user said that they may.

    Raises
    ------
    UsageError
        It says what would be open to whom.
    """
    from artcheck.web.guard import is_loopback

    if is_loopback(host) or allow_network:
        return
    raise UsageError(
        f"{host} can be reached from other computers. There is no password: whoever reaches it"
        " reads your prices and your customers' art and orders, and writes into your workspace."
        " Leave --host out, or add --allow-network if that is what you want."
    )


def listening(host: str, port: int) -> socket.socket:
    """A socket that listens; port 0 takes a free one.

    Raises
    ------
    UsageError
        The address is none of this computer's, or the port is taken.
    """
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        return socket.create_server((host, port), family=family)
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise UsageError(
            f"{host} port {port} cannot be used ({reason}). Choose another with --port."
        ) from None
