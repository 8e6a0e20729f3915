"""The bench's server: on this machine alone, unless it is told otherwise."""

import logging
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path

from valvetrain.bench.shop import ONLY, Shop
from valvetrain.setup.sheet_text import FILE

__all__ = ["Refused", "serve", "shop_at"]

LOOPBACK = "127.0.0.1"


class Refused(Exception):  # noqa: N818 - what happened
    """The bench cannot be opened; the message says why and what to do."""


def shop_at(path: Path, *, new: bool) -> Shop:
    """Find what a path means: a sheet, or a folder of sheets.

    Raises:
        Refused: there is neither.
    """
    if path.is_file() or (path / FILE).exists():
        if new:
            raise Refused(f"{path}: is a sheet already. Give the folder in which the new one is to be made.")
        return Shop(path, single=True)
    if path.is_dir():
        return Shop(path, single=False)
    if new and path.parent.is_dir():
        path.mkdir()
        return Shop(path, single=False)
    raise Refused(f"{path}: does not exist. Give a sheet, a folder of sheets, or --new to begin one there.")


def serve(
    shop: Shop,
    *,
    port: int,
    lan: bool,
    browser: bool,
    say: Callable[[str], None],
    warn: Callable[[str], None],
) -> None:
    """Serve until it is interrupted.

    Args:
        shop: what is shown.
        port: to listen at; 0 for any that is free.
        lan: be reached by other machines, too.
        browser: open the page.
        say: told the address.
        warn: told what to be careful with.

    Raises:
        Refused: the port is taken.
    """
    import uvicorn

    from valvetrain.bench.app import application
    from valvetrain.bench.guard import new_token

    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind(("0.0.0.0" if lan else LOOPBACK, port))
    except OSError as error:
        listening.close()
        raise Refused(
            f"--port {port}: {(error.strerror or str(error)).lower()}. Give another one."
        ) from error
    port = listening.getsockname()[1]
    names = [LOOPBACK, "localhost"]
    if lan:
        names = [_own_address(), *names]
        warn(
            "--lan: every machine of this network can reach the bench. It lets in who has the address with "
            "its token, and sends everything unencrypted. Use it in a network you trust; stop it afterwards."
        )
    token = new_token()
    app = application(shop, [f"{name}:{port}" for name in names], token, f"bench_{port}")
    address = f"http://{names[0]}:{port}/?token={token}"
    server = uvicorn.Server(
        uvicorn.Config(
            app,
            log_level="error",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            ws="none",
            limit_concurrency=64,
            timeout_keep_alive=30,
            timeout_graceful_shutdown=1,
        )
    )
    # A page left open at the end is no fault; what else the server has to tell is.
    logging.getLogger("uvicorn.error").addFilter(lambda record: "running task(s)" not in record.getMessage())
    listening.listen(64)
    _loaded(shop)
    say(address)
    if browser:
        threading.Timer(0.1, webbrowser.open, (address,)).start()
    try:
        server.run(sockets=[listening])
    except KeyboardInterrupt:
        sys.exit(0)
    finally:
        listening.close()


def _loaded(shop: Shop) -> None:
    """Answer a single sheet before its address is said, so that the first page is there at once."""
    if shop.single:
        from valvetrain.bench.view import state

        desk = shop.desk(ONLY)
        if desk is not None:
            state(desk)


def _own_address() -> str:
    """Return this machine's address in its network; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(("192.0.2.1", 9))
            return str(asking.getsockname()[0])
        except OSError:
            return LOOPBACK
