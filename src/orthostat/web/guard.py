"""Who may speak to the page: this computer's browser that was given the token at the start, nobody else.

Checked before anything else sees a request: Host, fetch metadata, Origin, cookie, a second token
that only our own pages hold, the kind of body, its size and how long it takes.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import time
from http.cookies import CookieError, SimpleCookie

import anyio
from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY = 262_144
"""Bytes of one request; an edit is a few hundred."""
BODY_SECONDS = 10.0
"""Time in which a whole body must have come."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
_SAFE = frozenset({"GET", "HEAD"})


class Guard:
    """ASGI middleware that refuses whatever is not the page itself speaking to its own server."""

    def __init__(self, app: ASGIApp, *, port: int, token: str) -> None:
        self._app = app
        self._token = token
        self._host = f"127.0.0.1:{port}"
        self._origin = f"http://{self._host}"
        self.cookie = f"orthostat-{port}"

    @property
    def page_token(self) -> str:
        """What our own pages send along; unlike the cookie, no server on another port is ever sent it."""
        return page_token(self._token)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        with_headers = _adding_headers(scope, send)
        refusal = self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, with_headers)
            return
        if scope["method"] in _SAFE:
            await self._app(scope, receive, with_headers)
            return
        body = await _whole_body(receive)
        if isinstance(body, Response):
            await body(scope, receive, with_headers)
            return
        await self._app(scope, _replay(body, receive), with_headers)

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        if headers.getlist("host") != [self._host]:
            return _refuse(421, "This page answers only to its own address.")
        site = headers.get("sec-fetch-site")
        enters = scope["path"] == "/enter"
        if site not in (None, "same-origin", "none") and not enters:
            return _refuse(403, "Requests from other sites are refused.")
        origin = headers.get("origin")
        if origin is not None and origin != self._origin:
            return _refuse(403, "Requests from other sites are refused.")
        if scope["method"] not in (*_SAFE, "POST"):
            return _refuse(405, "Not a request this page knows.")
        if enters and scope["method"] == "GET":
            return self._enter(scope)
        if not self._knows(headers):
            return _refuse(
                403, "This browser has no key to this page. Open the address that was printed at the start."
            )
        return None if scope["method"] in _SAFE else self._refuse_change(headers, origin)

    def _refuse_change(self, headers: Headers, origin: str | None) -> Response | None:
        if origin is None:
            return _refuse(403, "A change must come from the page itself.")
        if not hmac.compare_digest(headers.get("x-page-token", "").encode(), self.page_token.encode()):
            return _refuse(403, "A change must come from a page of this run; load the page again.")
        if headers.get("content-type", "").split(";")[0].strip().lower() != "application/json":
            return _refuse(415, "A change must be JSON.")
        length = headers.get("content-length")
        if length is not None and (not re.fullmatch(r"\d{1,12}", length) or int(length) > LARGEST_BODY):
            return _too_large()
        return None

    def _knows(self, headers: Headers) -> bool:
        try:
            morsel = SimpleCookie(headers.get("cookie", "")).get(self.cookie)
        except CookieError:
            return False
        return morsel is not None and hmac.compare_digest(morsel.value.encode(), self._token.encode())

    def _enter(self, scope: Scope) -> Response:
        """Take the token of the printed address and give the browser its cookie."""
        query = scope["query_string"].decode("latin-1")
        given = re.fullmatch(r"token=([\w-]{1,100})", query)
        if given is None or not hmac.compare_digest(given[1].encode(), self._token.encode()):
            return _refuse(403, "This address is of another run; open the one that was printed last.")
        response = RedirectResponse("/", status_code=303)
        response.set_cookie(self.cookie, self._token, httponly=True, samesite="strict", path="/")
        response.headers["Cache-Control"] = "no-store"
        return response


def page_token(token: str) -> str:
    """The token that our own pages send along, made from the one of the start."""
    return hmac.new(token.encode(), b"orthostat page", hashlib.sha256).hexdigest()


def _refuse(status: int, words: str) -> Response:
    return PlainTextResponse(words + "\n", status_code=status, headers={"Cache-Control": "no-store"})


def _too_large() -> Response:
    return _refuse(413, f"A change may have {LARGEST_BODY // 1024} KiB; this one has more.")


async def _whole_body(receive: Receive) -> bytes | Response:
    """The body, or the refusal of one that is too large or too slow."""
    parts: list[bytes] = []
    size = 0
    end = time.monotonic() + BODY_SECONDS
    while True:
        with anyio.move_on_after(max(0.0, end - time.monotonic())) as limit:
            message = await receive()
        if limit.cancelled_caught:
            return _refuse(408, "The request took too long.")
        if message["type"] != "http.request":
            return _refuse(400, "The request was broken off.")
        part = message.get("body", b"")
        size += len(part)
        if size > LARGEST_BODY:
            return _too_large()
        parts.append(part)
        if not message.get("more_body", False):
            return b"".join(parts)


def _replay(body: bytes, receive: Receive) -> Receive:
    given = False

    async def replay() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return replay


def _adding_headers(scope: Scope, send: Send) -> Send:
    still = scope["path"].startswith(("/static/", "/fonts/"))

    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            if not still:
                headers["Cache-Control"] = "no-store"
        await send(message)

    return with_headers
