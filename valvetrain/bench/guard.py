"""Who may speak to the bench: this machine's own page, with the token that the terminal showed."""

import hmac
import secrets
from collections.abc import Iterable
from urllib.parse import parse_qs

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["HEADERS", "Guard", "new_token"]

HEADERS = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cache-control": "no-store",
}

_MOST = 64_000
"""Bytes that a request may have."""


def new_token() -> str:
    """Return a token that cannot be guessed."""
    return secrets.token_urlsafe(24)


class Guard:
    """Lets through what comes from the page itself, and adds the headers that keep it so.

    - Host must be one of the addresses at which the bench is reached: a name of another site that leads to
      this machine is refused.
    - A request that a page of another site began is refused (Sec-Fetch-Site, Origin).
    - The token comes with the first address, and from then on as a cookie that no script can read and that no
      other site's page sends.
    """

    def __init__(self, app: ASGIApp, token: str, hosts: Iterable[str], cookie: str) -> None:
        """Guard `app`; `hosts` are names with their port, `cookie` is the name of the cookie."""
        self.app, self.token, self.hosts, self.cookie = app, token, frozenset(hosts), cookie

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        refusal = self._refused(scope)
        if refusal is None:
            await self.app(scope, _bounded(receive), _with_headers(send))
        else:
            await refusal(scope, receive, _with_headers(send))

    def _refused(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if host not in self.hosts:
            return PlainTextResponse("This address is not that of the bench.", 421)
        reads = scope["method"] in ("GET", "HEAD")
        site = headers.get("sec-fetch-site", "none" if reads else "same-origin")
        if site not in (("same-origin", "none") if reads else ("same-origin",)):
            # A link in a letter or another page may open the first page; the cookie then decides.
            opens = (
                headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest") == "document"
            )
            if not (reads and opens):
                return PlainTextResponse("A page of another site may not ask here.", 403)
        if not reads:
            if headers.get("origin") != f"http://{host}":
                return PlainTextResponse("A page of another site may not write here.", 403)
            if headers.get("content-type", "").partition(";")[0].strip() != "application/json":
                return PlainTextResponse("Only JSON is taken.", 415)
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > _MOST:
            return PlainTextResponse("That is too much at once.", 413)
        return self._unknown(scope, headers)

    def _unknown(self, scope: Scope, headers: Headers) -> Response | None:
        given = parse_qs(scope.get("query_string", b"").decode("ascii", "replace")).get("token", [""])[0]
        if given and scope["method"] == "GET" and self._is_token(given):
            response = RedirectResponse(scope["path"], 303)
            response.set_cookie(self.cookie, self.token, httponly=True, samesite="strict", path="/")
            return response
        if self._is_token(_cookie(headers, self.cookie)):
            return None
        return PlainTextResponse(
            "Open the address that the terminal shows: it holds the token without which nothing is told.", 403
        )

    def _is_token(self, given: str) -> bool:
        return hmac.compare_digest(given.encode(), self.token.encode())


def _cookie(headers: Headers, name: str) -> str:
    for part in headers.get("cookie", "").split(";"):
        key, _, value = part.strip().partition("=")
        if key == name:
            return value
    return ""


def _bounded(receive: Receive) -> Receive:
    """Let no more through than a request may have, whatever it says of itself."""
    taken = 0

    async def bounded() -> Message:
        nonlocal taken
        message = await receive()
        if message["type"] == "http.request":
            taken += len(message.get("body", b""))
            if taken > _MOST:
                return {"type": "http.disconnect"}
        return message

    return bounded


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name for name, _ in message["headers"]}
            message["headers"] = [
                *message["headers"],
                *(
                    (name.encode(), value.encode())
                    for name, value in HEADERS.items()
                    if name.encode() not in own
                ),
            ]
        await send(message)

    return sending
