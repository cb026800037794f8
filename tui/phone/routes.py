"""What the page asks for: itself, the time, the stream, pairing, marks."""

from __future__ import annotations

import asyncio
import contextlib
import json
import math
import re
from collections.abc import AsyncIterator
from importlib import resources
from typing import TYPE_CHECKING, Any

from starlette.applications import Starlette
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from bridge.values.events import Mark
from tui.inputs.offers import PHONE_MARKS
from tui.phone.hub import Press, PressOutcome
from tui.phone.request_filter import ASSETS, MOST_BODY, PhonePage
from tui.words.screen import phone_words

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.types import Receive, Scope, Send


SLOW_S = 5.0
"""A phone that takes no message for so long is dropped; it comes back by itself."""
MOST_STREAMS = 4
"""Of one session; with one more the oldest ends."""
_NONCE = re.compile(r"[0-9a-f]{32}")
_TYPES = {"js": "text/javascript", "css": "text/css", "svg": "image/svg+xml"}
_STATUS = {
    PressOutcome.TAKEN: 200,
    PressOutcome.NOT_NOW: 409,
    PressOutcome.TOO_LATE: 409,
    PressOutcome.NO_MONITOR: 503,
}


class Routes:
    """The handlers; the request filter has let every request by that reaches them."""

    def __init__(self, page: PhonePage) -> None:
        self._page = page
        self._streams: dict[str, list[asyncio.Task[Any]]] = {}
        self._files = {name: _file(name) for name in ("/page.html", *ASSETS)}

    def app(self) -> Starlette:
        """Return the application without its request filter."""
        return Starlette(
            routes=[
                Route("/stream", self, methods=["GET"]),
                Route("/time", self.time, methods=["GET"]),
                Route("/pair", self.pair, methods=["POST"]),
                Route("/mark", self.mark, methods=["POST"]),
                *(Route(path, self.asset, methods=["GET"]) for path in ASSETS),
                Route("/", self.page, methods=["GET"]),
                Route("/{token}", self.page, methods=["GET"]),
            ],
            lifespan=self._lifespan,
        )

    @contextlib.asynccontextmanager
    async def _lifespan(self, _app: Starlette) -> AsyncIterator[None]:
        pumping = asyncio.create_task(self._page.hub.pump())
        try:
            yield
        finally:
            pumping.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await pumping

    async def page(self, _request: Request) -> Response:
        """Return the page; the same for everybody."""
        return Response(self._files["/page.html"], media_type="text/html")

    async def asset(self, request: Request) -> Response:
        """Return one of the page's files."""
        path = request.url.path
        return Response(self._files[path], media_type=_TYPES[path.rpartition(".")[2]])

    async def time(self, _request: Request) -> Response:
        """Return the server's clock, so that the page can tell a message's age."""
        return JSONResponse({"now_s": self._page.clock()})

    async def pair(self, request: Request) -> Response:
        """Trade the token for a session (RFC 6265: HttpOnly, SameSite, this host)."""
        asked = await _read(request)
        token = asked.get("token") if asked else None
        secret = self._page.pairing.pair(token) if isinstance(token, str) else None
        if secret is None:
            return self._refuse(request, phone_words.WRONG_TOKEN, 403)
        self._page.paired()
        answer = JSONResponse({"paired": True})
        answer.set_cookie(self._page.cookie, secret, httponly=True, samesite="strict")
        return answer

    def _refuse(self, request: Request, kind: str, status: int) -> Response:
        address = request.client.host if request.client else "unknown"
        if kind == phone_words.WRONG_TOKEN:
            self._page.guessed(address)
        self._page.refusals.note(kind, address, status)
        return JSONResponse({"refused": kind}, status)

    async def mark(self, request: Request) -> Response:
        """Take a mark, once."""
        press = read_press(await _read(request))
        if press is None:
            return self._refuse(request, "not a mark", 422)
        outcome, repeat = await self._page.hub.press(press)
        status = _STATUS[outcome]
        if status != 200:
            address = request.client.host if request.client else "unknown"
            self._page.refusals.note(f"mark {outcome.value}", address, status)
        return JSONResponse({"outcome": outcome.value, "repeat": repeat}, status)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send the newest message again and again (WHATWG HTML, server-sent events).

        An ASGI endpoint: it must notice a phone that leaves, which a response cannot.
        """
        start = {
            "type": "http.response.start",
            "status": 200,
            "headers": [(b"content-type", b"text/event-stream; charset=utf-8")],
        }
        await send(start)
        sending = asyncio.create_task(self._send_all(send))
        self._admit(scope["session_name"], sending)
        leaving = asyncio.create_task(_gone(receive))
        try:
            await asyncio.wait({sending, leaving}, return_when="FIRST_COMPLETED")
        finally:
            for task in (sending, leaving):
                task.cancel()
            done = await asyncio.gather(sending, leaving, return_exceptions=True)
            if isinstance(done[0], TimeoutError):
                self._page.connections.cut(scope["client"])
            self._dismiss(scope["session_name"], sending)

    async def _send_all(self, send: Send) -> None:
        await _send(send, b"retry: 1000\n\n")
        async with contextlib.aclosing(self._page.hub.events()) as events:
            async for event in events:
                await asyncio.wait_for(_send(send, event), SLOW_S)
        await send({"type": "http.response.body", "body": b"", "more_body": False})

    def _admit(self, session: str, task: asyncio.Task[Any]) -> None:
        streams = self._streams.setdefault(session, [])
        streams.append(task)
        if len(streams) > MOST_STREAMS:
            streams.pop(0).cancel()

    def _dismiss(self, session: str, task: asyncio.Task[Any]) -> None:
        streams = self._streams.get(session, [])
        if task in streams:
            streams.remove(task)
        if not streams:
            self._streams.pop(session, None)


async def _send(send: Send, data: bytes) -> None:
    await send({"type": "http.response.body", "body": data, "more_body": True})


async def _gone(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass


async def _read(request: Request) -> dict[str, Any] | None:
    """Return a small JSON object, or None."""
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > MOST_BODY:
            return None
    try:
        content = json.loads(body)
    except (ValueError, RecursionError):
        return None
    return content if isinstance(content, dict) else None


def read_press(press: dict[str, Any] | None) -> Press | None:
    """Return the mark in a request's body; None: it is none, or not a phone's."""
    if press is None or set(press) != {"mark", "nonce", "at_s"}:
        return None
    mark, nonce, at_s = press["mark"], press["nonce"], press["at_s"]
    if not isinstance(mark, str) or mark not in PHONE_MARKS:
        return None
    if not isinstance(nonce, str) or not _NONCE.fullmatch(nonce):
        return None
    if isinstance(at_s, bool) or not isinstance(at_s, int | float):
        return None
    if not math.isfinite(at_s):
        return None
    return Press(mark=Mark(mark), nonce=nonce, at_s=float(at_s))


def _file(name: str) -> bytes:
    return (resources.files("tui.phone") / "static" / name[1:]).read_bytes()
