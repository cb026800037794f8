"""Stands before every request: says no, with the status RFC 9110 gives, or lets it by.

The order: the right host (a foreign name that leads here is an attack), how often, the
path, the method, the origin, the size, the session. Every answer forbids caching,
framing and everything from elsewhere (Content Security Policy level 3).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse

from bridge.values.frozen import frozen
from tui.phone.limits import GUESSES, PHONE, STRANGER, Limiter
from tui.phone.pairing import Pairing, could_be_token
from tui.words.screen import phone_words

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from tui.phone.connections import Connections
    from tui.phone.hub import Hub
    from tui.phone.refusals import Refusals

MOST_BODY = 512
MOST_PATH = 64
MOST_HEAD = 8192
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; media-src blob:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "screen-wake-lock=(self), camera=(), microphone=(), "
    "geolocation=()",
}
ASSETS = ("/page.js", "/link.js", "/sound.js", "/awake.js", "/page.css", "/sign.svg")
"""Public text of this program; nothing of the job is in it."""
METHODS: Mapping[str, str] = {
    "/": "GET",
    "/stream": "GET",
    "/time": "GET",
    "/pair": "POST",
    "/mark": "POST",
    **dict.fromkeys(ASSETS, "GET"),
}
FOR_PAIRED = frozenset({"/", "/stream", "/time", "/mark"})


@frozen
class No:
    """A refusal: status, its kind for the log, and what to do about it."""

    status: int
    kind: str
    remedy: str
    allow: str = ""


@dataclass(kw_only=True)
class PhonePage:
    """What the parts of one page's server share."""

    hub: Hub
    refusals: Refusals
    connections: Connections
    clock: Callable[[], float]
    """Monotonic seconds."""
    cookie: str
    """Its name."""
    pairing: Pairing = field(default_factory=Pairing)
    guesses: Limiter = field(default_factory=lambda: Limiter(GUESSES))
    paired: Callable[[], object] = lambda: None
    """Called when a phone has paired: another token is good now."""

    def guessed(self, address: str) -> No:
        """Return the refusal of a wrong token, and count it against the address."""
        if not self.guesses.allows(address, self.clock()):
            return No(status=429, kind="too many wrong tokens", remedy="Wait.")
        return No(status=403, kind=phone_words.WRONG_TOKEN, remedy=phone_words.SCAN)


class RequestFilter:
    """ASGI middleware before the page's own application."""

    def __init__(self, app: ASGIApp, page: PhonePage, hosts: frozenset[str]) -> None:
        """``hosts``: every authority ('192.168.0.4:8642') the page has."""
        self._app, self._page, self._hosts = app, page, hosts
        self._phones, self._strangers = Limiter(PHONE), Limiter(STRANGER)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a good request by; answer the others."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # no other protocol is spoken here; uvicorn then closes it
        no = self._look(scope)
        if no is not None:
            self._page.refusals.note(no.kind, _address(scope), no.status)
            await _answer(no)(scope, receive, _dressed(send))
        else:
            await self._app(scope, receive, _dressed(send))

    def _look(self, scope: Scope) -> No | None:
        headers = Headers(scope=scope)
        session = self._session(headers)
        scope["session_name"] = session
        if session is not None and scope.get("client"):
            self._page.connections.befriend(scope["client"])
        return (
            self._host(headers)
            or self._often(scope, session)
            or _head(scope)
            or self._path(scope, session)
            or self._origin(headers, scope)
            or _size(headers, scope)
        )

    def _session(self, headers: Headers) -> str | None:
        try:
            jar = SimpleCookie(headers.get("cookie", ""))
        except CookieError:
            return None
        kept = jar.get(self._page.cookie)
        return self._page.pairing.session(kept.value) if kept else None

    def _host(self, headers: Headers) -> No | None:
        if headers.getlist("host") and headers["host"].lower() in self._hosts:
            return None
        return No(status=421, kind="foreign host", remedy=phone_words.ADDRESS_SHOWN)

    def _often(self, scope: Scope, session: str | None) -> No | None:
        limiter = self._strangers if session is None else self._phones
        if limiter.allows(session or _address(scope), self._page.clock()):
            return None
        return No(status=429, kind="flood", remedy="Wait a little.")

    def _path(self, scope: Scope, session: str | None) -> No | None:
        path = scope["path"]
        if len(path) > MOST_PATH or scope["query_string"]:
            return No(status=414, kind="long or odd address", remedy=phone_words.SCAN)
        wanted = METHODS.get(path)
        if wanted is None:
            return self._other_path(scope)
        if scope["method"] != wanted:
            return No(
                status=405, kind="wrong method", remedy=f"Use {wanted}.", allow=wanted
            )
        if path in FOR_PAIRED and session is None:
            return No(status=403, kind="not paired", remedy=phone_words.SCAN)
        guesses, now_s = self._page.guesses, self._page.clock()
        if path == "/pair" and not guesses.has(_address(scope), now_s):
            return No(status=429, kind="too many wrong tokens", remedy="Wait.")
        return None

    def _other_path(self, scope: Scope) -> No | None:
        """Let the token by; only what could be one counts as guessed.

        Browsers ask for icons and the like of their own accord.
        """
        if scope["method"] != "GET":
            return No(status=405, kind="wrong method", remedy="Use GET.", allow="GET")
        if not could_be_token(scope["path"][1:]):
            return No(status=404, kind="no such page", remedy=phone_words.SCAN)
        if self._page.pairing.is_token(scope["path"][1:]):
            return None
        return self._page.guessed(_address(scope))

    def _origin(self, headers: Headers, scope: Scope) -> No | None:
        origin = headers.get("origin")
        ours = f"http://{headers['host'].lower()}"
        foreign = No(status=403, kind="foreign origin", remedy=phone_words.PAGE_ITSELF)
        if origin is not None and origin.lower() != ours:
            return foreign
        if origin is None and scope["method"] == "POST":
            return foreign
        site = headers.get("sec-fetch-site", "same-origin")
        navigation = headers.get("sec-fetch-mode") == "navigate"
        if site not in ("same-origin", "none") and not navigation:
            return foreign
        return None


def _head(scope: Scope) -> No | None:
    if sum(len(k) + len(v) for k, v in scope["headers"]) <= MOST_HEAD:
        return None
    return No(status=431, kind="oversize head", remedy="Send less.")  # RFC 6585, 5


def _size(headers: Headers, scope: Scope) -> No | None:
    length = headers.get("content-length")
    if "transfer-encoding" in headers:
        return No(status=411, kind="no length", remedy=phone_words.NO_LENGTH)
    if length is not None and not _small(length):
        return No(status=413, kind="oversize", remedy="Send less.")
    if scope["method"] == "POST":
        if length is None:
            return No(status=411, kind="no length", remedy=phone_words.NO_LENGTH)
        if headers.get("content-type") != "application/json":
            return No(status=415, kind="wrong type", remedy="Send JSON.")
    return None


def _small(length: str) -> bool:
    plain = length.isascii() and length.isdigit() and len(length) < 8
    return plain and int(length) <= MOST_BODY


def _address(scope: Scope) -> str:
    client = scope.get("client")
    return client[0] if client else "unknown"


def _answer(no: No) -> PlainTextResponse:
    headers = {"Connection": "close"}
    if no.allow:
        headers["Allow"] = no.allow
    if no.status == 429:
        headers["Retry-After"] = "2"
    text = f"No: {no.kind}. {no.remedy}\n"
    return PlainTextResponse(text, no.status, headers)


def _dressed(send: Send) -> Send:
    """Put the headers that every answer carries on it."""

    async def dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
        await send(message)

    return dressed
