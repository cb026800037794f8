"""The page's server: one socket, one thread, one loop; it ends with the program."""

from __future__ import annotations

import asyncio
import contextlib
import errno
import ipaddress
import logging
import socket
import sys
import threading
import time
from typing import TYPE_CHECKING

import uvicorn

from bridge.values.errors import UsageError
from tui.phone.connections import Connections, connection_class
from tui.phone.refusals import Refusals, file_writer, log_path
from tui.phone.request_filter import PhonePage, RequestFilter
from tui.phone.routes import Routes

if TYPE_CHECKING:
    from collections.abc import Callable

    from tui.phone.hub import Hub

BACKLOG = 64
START_S = 5.0
STOP_S = 1.5
SWITCH_S = 0.0005
"""How soon the monitor's thread gets its turn from this one; Python's own 5 ms are felt
many times in one tick (docs/phone.md has the figures). Kept after the end: harmless."""
LOOPBACK = ("127.0.0.1", "localhost")


class PhoneServer:
    """Serves one job's page on one address."""

    def __init__(
        self,
        *,
        hub: Hub,
        listening: socket.socket,
        log: Callable[[str], object] | None = None,
    ) -> None:
        """``listening``: bound already. ``log`` takes lines; None: the usual file."""
        self._socket = listening
        self._host, self._port = listening.getsockname()[:2]
        self.hub = hub
        self.refusals = Refusals(log or file_writer(log_path()), time.monotonic)
        self.connections = Connections(self.refusals.note)
        self._page = PhonePage(
            hub=hub,
            refusals=self.refusals,
            connections=self.connections,
            clock=time.monotonic,
            cookie=f"sumpgate-{self._port}",  # cookies know no ports (RFC 6265, 8.5)
        )
        self.pairing = self._page.pairing
        request_filter = RequestFilter(
            Routes(self._page).app(), self._page, self.hosts()
        )
        self._server = uvicorn.Server(self._config(request_filter))
        self._thread = threading.Thread(target=self._run, name="phone", daemon=True)

    def _config(self, request_filter: RequestFilter) -> uvicorn.Config:
        return uvicorn.Config(
            request_filter,
            http=connection_class(self.connections),
            ws="none",
            lifespan="on",
            log_config=None,
            access_log=False,
            server_header=False,
            date_header=False,
            proxy_headers=False,
            timeout_keep_alive=5,
            timeout_graceful_shutdown=1,
            h11_max_incomplete_event_size=8192,
        )

    def hosts(self) -> frozenset[str]:
        """Return every authority under which the page may be asked for."""
        loopback = ipaddress.ip_address(self._host).is_loopback
        names = {self._host, *(LOOPBACK if loopback else ())}
        shown = {f"[{n}]" if ":" in n else n for n in names}
        plain = shown if self._port == 80 else set()
        return frozenset({f"{n}:{self._port}" for n in shown} | plain)

    @property
    def address(self) -> str:
        """The address to open on the phone, token and all; good for one pairing."""
        host = f"[{self._host}]" if ":" in self._host else self._host
        return f"http://{host}:{self._port}/{self.pairing.token}"

    @property
    def loopback(self) -> bool:
        """Whether only this computer itself can reach the page."""
        return ipaddress.ip_address(self._host).is_loopback

    def on_paired(self, tell: Callable[[PhoneServer], object]) -> None:
        """Have ``tell`` called, in a thread of its own, whenever a phone has paired.

        Of its own: whoever reads what it writes may be slow, and the page may not wait.
        """

        def paired() -> None:
            threading.Thread(target=tell, args=(self,), daemon=True).start()

        self._page.paired = paired

    def start(self) -> None:
        """Start serving; returns once it does.

        Raises:
            UsageError: it did not start.
        """
        quiet_uvicorn()
        sys.setswitchinterval(SWITCH_S)
        self._thread.start()
        until_s = time.monotonic() + START_S
        while not self._server.started and self._thread.is_alive():
            if time.monotonic() > until_s:
                break
            time.sleep(0.01)
        if not self._server.started:
            raise UsageError("the phone page did not start: leave --phone out")

    def stop(self) -> None:
        """End it; waits a moment at most."""
        self.hub.close()
        self._server.should_exit = True
        if self._thread.is_alive():
            self._thread.join(STOP_S)
        self._socket.close()

    def _run(self) -> None:
        with contextlib.suppress(asyncio.CancelledError, SystemExit):
            self._server.run(sockets=[self._socket])


def quiet_uvicorn() -> None:
    """Keep uvicorn's messages off the screen; what is refused has its own log."""
    for name in ("uvicorn", "uvicorn.error", "uvicorn.access", "uvicorn.asgi"):
        logger = logging.getLogger(name)
        logger.handlers = [logging.NullHandler()]
        logger.propagate = False


def listen(host: str, port: int) -> socket.socket:
    """Return a listening socket.

    Raises:
        UsageError: the address or the port cannot be had; one sentence.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    sock = socket.socket(family, socket.SOCK_STREAM)
    try:
        if sys.platform != "win32":  # there it would share the port with another
            sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        sock.bind((host, port))
        sock.listen(BACKLOG)
    except OSError as problem:
        sock.close()
        raise _why(host, port, problem) from None
    return sock


def _why(host: str, port: int, problem: OSError) -> UsageError:
    if problem.errno == errno.EADDRINUSE:
        return UsageError(
            f"port {port} on {host} is taken by another program: "
            "name another with --phone-port, or 0 for any that is free"
        )
    if problem.errno == errno.EACCES:
        return UsageError(
            f"port {port} is not yours to use: name one above 1023 with --phone-port"
        )
    if problem.errno == errno.EADDRNOTAVAIL:
        return UsageError(
            f"{host} is not an address of this computer: say --phone lan, "
            "or name one of its own"
        )
    return UsageError(
        f"the phone page cannot listen on {host}, port {port} ({problem.strerror})"
    )
