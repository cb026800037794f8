"""A phone page served here: snapshots from the test, marks into a list."""

from __future__ import annotations

import asyncio
import http.client
import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from bridge.level.step.step_values import Step
from bridge.snapshot import Snapshot
from bridge.values.events import Marked
from tests.tui.stage import SHEET
from tui.phone.hub import Hub
from tui.phone.server import PhoneServer, listen


@dataclass
class Hosted:
    """A server with a monitor's loop that the test plays."""

    server: PhoneServer
    hub: Hub
    loop: asyncio.AbstractEventLoop
    told: list[Marked] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    _latest: Snapshot | None = None
    _stop: threading.Event = field(default_factory=threading.Event)

    @property
    def authority(self) -> str:
        return self.server.address.split("/")[2]

    def play(self, snapshot: Snapshot) -> None:
        """Show this from now on, four times a second, as a monitor does."""
        self._latest = snapshot
        self._deliver()

    def phase(self, snapshot: Snapshot, **step: object) -> None:
        self.play(replace(snapshot, step=Step(**step)))  # type: ignore[arg-type]

    def silence(self) -> None:
        self._latest = None

    def _deliver(self) -> None:
        if self._latest is not None:
            self.loop.call_soon_threadsafe(self.hub.deliver, self._latest)

    def beat(self) -> None:
        while not self._stop.wait(0.25):
            self._deliver()

    def ask(
        self,
        method: str,
        path: str,
        body: object = None,
        *,
        cookie: str = "",
        headers: dict[str, str] | None = None,
    ) -> tuple[int, dict[str, str], bytes]:
        """Ask as the page would; ``headers`` replace what it would send."""
        sent = {"Host": self.authority}
        data = None
        if method == "POST":
            sent |= {
                "Origin": f"http://{self.authority}",
                "Content-Type": "application/json",
            }
            data = body if isinstance(body, bytes) else json.dumps(body).encode()
        if cookie:
            sent["Cookie"] = cookie
        sent |= headers or {}
        host, port = self.server._socket.getsockname()[:2]
        connection = http.client.HTTPConnection(host, port, timeout=5)
        try:
            connection.request(method, path, data, sent)
            answer = connection.getresponse()
            told = {k.lower(): v for k, v in answer.getheaders()}
            return answer.status, told, answer.read()
        finally:
            connection.close()

    def pair(self) -> str:
        """Return a cookie that belongs to a session."""
        status, headers, _ = self.ask(
            "POST", "/pair", {"token": self.server.pairing.token}
        )
        assert status == 200
        return headers["set-cookie"].partition(";")[0]

    def mark(self, cookie: str, mark: str, nonce: str, at_s: float | None = None):
        """Send a mark; return status and answer."""
        at_s = time.monotonic() if at_s is None else at_s
        body = {"mark": mark, "nonce": nonce, "at_s": at_s}
        status, _, answer = self.ask("POST", "/mark", body, cookie=cookie)
        return status, json.loads(answer)


class _Tell:
    def __init__(self) -> None:
        self.told: list[Marked] = []

    def tell(self, told: Marked) -> list[Marked]:
        self.told.append(told)
        return self.told


def _at_once(end: Callable[[], None]) -> None:
    end()


@contextmanager
def hosted(
    leave: Callable[[Callable[[], None]], object] = _at_once,
) -> Iterator[Hosted]:
    """Serve a page; ``leave`` is given what ends it (uvicorn takes 0.2 s to)."""
    commands, lines = _Tell(), []
    hub = Hub(
        sheet=SHEET,
        unit="C",
        commands=commands,
        clock=time.monotonic,
        stale_s=2.0,
        source="bench, cold start",
    )
    loop = asyncio.new_event_loop()
    running = threading.Thread(target=loop.run_forever, daemon=True)
    running.start()
    hub.joined(loop)
    server = PhoneServer(hub=hub, listening=listen("127.0.0.1", 0), log=lines.append)
    server.start()
    here = Hosted(server=server, hub=hub, loop=loop, told=commands.told, lines=lines)
    beating = threading.Thread(target=here.beat, daemon=True)
    beating.start()

    def end() -> None:
        here._stop.set()
        beating.join()
        server.stop()
        loop.call_soon_threadsafe(loop.stop)
        running.join()
        loop.close()

    try:
        yield here
    finally:
        leave(end)
