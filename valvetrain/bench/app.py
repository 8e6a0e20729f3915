"""The bench as a web application: addresses, and what each answers."""

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from valvetrain.bench.desk import Asked, Desk
from valvetrain.bench.guard import Guard, new_token
from valvetrain.bench.served import page, served
from valvetrain.bench.shop import ONLY, Shop
from valvetrain.bench.valve_page import card_page, plot, valve_page
from valvetrain.bench.view import compared_view, state
from valvetrain.setup.faults import SheetError
from valvetrain.setup.starter_words import SHOP_INSTRUMENTS

__all__ = ["application"]

_LETTERS = ".word { fill: #000; stroke: #fff; stroke-width: 3px; paint-order: stroke; font: 15px Arial; }"
_LOOK = 0.4
_PAUSE = 0.6
"""Seconds after which the files are looked at again for what others have changed, and without an entry after
which the answers found at once are made sure."""


def application(shop: Shop, hosts: list[str], token: str | None = None, cookie: str = "bench") -> Any:
    """Make the application.

    Args:
        shop: what it shows.
        hosts: names with port at which it is reached.
        token: that lets in; made up if left out.
        cookie: its name.
    """

    async def home(request: Request) -> Response:
        if shop.single:
            return Response(status_code=303, headers={"location": f"/sheet/{ONLY}/"})
        told = await run_in_threadpool(shop.listed)
        return HTMLResponse(page("shop", sheets=told, instruments=SHOP_INSTRUMENTS, folder=shop.root.name))

    async def new(request: Request) -> Response:
        told = await _body(request)
        return await _answered(lambda: {"name": shop.begun(told)})

    async def sheet(request: Request) -> Response:
        desk = _desk(request)
        if desk is None:
            return _nothing()
        return HTMLResponse(page("sheet", name=request.path_params["name"], several=not shop.single))

    async def told_state(request: Request) -> Response:
        desk = _desk(request)
        return _nothing() if desk is None else await _answered(lambda: state(desk))

    async def value(request: Request) -> Response:
        desk, told = _desk(request), await _body(request)
        if desk is None:
            return _nothing()
        readings = told.get("readings")
        if readings is not None and not (isinstance(readings, list) and 0 < len(readings) <= 50):
            return _wrong("give one to fifty readings")

        def write() -> dict[str, Any]:
            texts = None if readings is None else [str(each)[:200] for each in readings]
            seen = told.get("seen")
            found = desk.write(
                str(told.get("key", "")),
                texts,
                None if seen in (None, "") else str(seen),
                sure=bool(told.get("sure")),
            )
            return _asked(desk, found)

        return await _answered(write)

    def turning(turn: Callable[[Desk], None]) -> Callable[[Request], Any]:
        async def turned(request: Request) -> Response:
            desk, told = _desk(request), await _body(request)
            if desk is None:
                return _nothing()

            steps = told.get("steps", 1)
            if not isinstance(steps, int) or not 1 <= steps <= 10_000:
                return _wrong("say how many changes")

            def act() -> dict[str, Any]:
                for _ in range(steps):
                    turn(desk)
                return {"state": state(desk)}

            return await _answered(act)

        return turned

    async def tried(request: Request) -> Response:
        desk, told = _desk(request), await _body(request)
        if desk is None:
            return _nothing()
        values = _values(told)

        def ask() -> dict[str, Any]:
            found = desk.tried(values)
            assert desk.setup is not None
            return {"blocks": compared_view(found, desk.setup.units)}

        return await _answered(ask)

    async def kept(request: Request) -> Response:
        desk, told = _desk(request), await _body(request)
        if desk is None:
            return _nothing()
        values = _values(told)

        def keep() -> dict[str, Any]:
            desk.keep(values)
            return {"state": state(desk)}

        return await _answered(keep)

    async def changes(request: Request) -> Response:
        desk = _desk(request)
        if desk is None:
            return _nothing()

        async def told() -> AsyncIterator[str]:
            last = -1
            while not await request.is_disconnected():
                await run_in_threadpool(desk.refresh)
                await run_in_threadpool(desk.settle, _PAUSE)
                yield f"data: {desk.version}\n\n" if desk.version != last else ": still here\n\n"
                last = desk.version
                await asyncio.sleep(_LOOK)

        return StreamingResponse(told(), media_type="text/event-stream")

    async def valve(request: Request) -> Response:
        desk = _desk(request)
        if desk is None:
            return _nothing()
        asked = request.query_params.get("question", "")
        text = await run_in_threadpool(valve_page, desk, request.path_params["valve"], asked)
        return _nothing() if text is None else HTMLResponse(text)

    async def card(request: Request) -> Response:
        desk = _desk(request)
        text = None if desk is None else await run_in_threadpool(card_page, desk)
        return _nothing() if text is None else HTMLResponse(text)

    async def drawn(request: Request) -> Response:
        desk = _desk(request)
        text = None if desk is None else await run_in_threadpool(plot, desk, request.path_params["question"])
        return _nothing() if text is None else _svg(text)

    def _desk(request: Request) -> Desk | None:
        return shop.desk(request.path_params["name"])

    async def guide(request: Request) -> Response:
        return await run_in_threadpool(_guide, request.path_params["topic"])

    async def drawing(request: Request) -> Response:
        return await run_in_threadpool(_drawing, request.path_params["topic"])

    async def static(request: Request) -> Response:
        try:
            text, kind = served(request.path_params["file"])
        except KeyError:
            return _nothing()
        return Response(text, media_type=kind)

    async def no_icon(request: Request) -> Response:
        return Response(status_code=204)

    own = "/sheet/{name}"
    routes = [
        Route("/", home),
        Route("/new", new, methods=["POST"]),
        Route("/favicon.ico", no_icon),
        Route("/static/{file}", static),
        Route("/guide/{topic}", guide),
        Route("/drawing/{topic}", drawing),
        Route(f"{own}/", sheet),
        Route(f"{own}/state", told_state),
        Route(f"{own}/value", value, methods=["POST"]),
        Route(f"{own}/undo", turning(Desk.take_back), methods=["POST"]),
        Route(f"{own}/redo", turning(Desk.make_again), methods=["POST"]),
        Route(f"{own}/try", tried, methods=["POST"]),
        Route(f"{own}/keep", kept, methods=["POST"]),
        Route(f"{own}/changes", changes),
        Route(f"{own}/valve/{{valve}}", valve),
        Route(f"{own}/card", card),
        Route(f"{own}/plot/{{question}}", drawn),
    ]
    return Guard(Starlette(routes=routes), token or new_token(), hosts, cookie)


def _asked(desk: Desk, found: Asked) -> dict[str, Any]:
    if found.conflict is not None:
        one = found.conflict
        return {"conflict": {"key": one.key, "now": one.now, "yours": one.yours}, "state": state(desk)}
    if found.unlikely is not None:
        return {"unlikely": {"words": found.unlikely.words, "meant": found.unlikely.meant}}
    return {"state": state(desk)}


async def _body(request: Request) -> dict[str, Any]:
    """Read the request's JSON; what is none is empty, and refused for what it lacks."""
    try:
        told = json.loads(await request.body())
    except (ValueError, RecursionError, ClientDisconnect):
        return {}
    return told if isinstance(told, dict) else {}


def _values(told: dict[str, Any]) -> dict[str, str | None]:
    given = told.get("values")
    if not isinstance(given, dict):
        return {}
    return {
        str(key)[:200]: None if value in (None, "") else str(value)[:200]
        for key, value in list(given.items())[:200]
    }


async def _answered(act: Callable[[], dict[str, Any]]) -> Response:
    """Do it; what is wrong is told in the words of the sheet's faults."""
    try:
        return JSONResponse(await run_in_threadpool(act))
    except SheetError as error:
        return _wrong(*(str(fault) for fault in error.faults))
    except OSError as error:
        return _wrong(f"It cannot be written: {(error.strerror or str(error)).lower()}.")


def _wrong(*faults: str) -> Response:
    return JSONResponse({"faults": list(faults)})


def _nothing() -> Response:
    return PlainTextResponse("There is nothing here.", 404)


def _svg(text: str) -> Response:
    # A drawing has its styles inside; shown as a picture it runs nothing.
    policy = {"content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox"}
    return Response(text, media_type="image/svg+xml", headers=policy)


def _guide(name: str) -> Response:
    from valvetrain.report.guide.topics import TOPICS

    for topic in TOPICS:
        if topic.name == name:
            return JSONResponse(
                {
                    "title": topic.title,
                    "how": list(topic.how),
                    "slips": list(topic.slips),
                    "cautions": list(topic.cautions),
                    "instead": topic.instead,
                    "drawing": f"/drawing/{topic.name}" if topic.drawing else "",
                }
            )
    return _nothing()


def _drawing(name: str) -> Response:
    from valvetrain.report.drawing import svg
    from valvetrain.report.guide.page import DRAWINGS
    from valvetrain.report.guide.topics import TOPICS

    for topic in TOPICS:
        if topic.name == name and topic.drawing:
            inline = svg(DRAWINGS[topic.drawing](), f"drawn-{topic.name}")
            # As a picture of its own it needs its name space, and its words their letters.
            return _svg(
                inline.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1).replace(
                    "</title>", f"</title><style>{_LETTERS}</style>", 1
                )
            )
    return _nothing()
