"""A bench served by its own loop in another thread, for tests with real ports."""

from __future__ import annotations

import asyncio
import contextlib
import threading

from simulators.car.scenes import make_bench
from simulators.serve.served import address, run_bench


class Served:
    """A bench served by its own loop in another thread."""

    def __init__(self, **options):
        self.lines: list[str] = []
        self._ready = threading.Event()
        self._wanted = sum(key in options for key in ("tcp", "pty", "control"))
        self._options = options
        self._thread = threading.Thread(target=self._run, daemon=True)

    def _run(self):
        self.error = None

        def say(line):
            self.lines.append(line)
            if len(self.lines) >= self._wanted:
                self._ready.set()

        async def main():
            self.bench = make_bench("cold-start", None)
            self.loop = asyncio.get_running_loop()
            self.task = asyncio.current_task()
            await run_bench(self.bench, say=say, **self._options)

        try:
            asyncio.run(main())
        except asyncio.CancelledError:
            pass
        finally:
            self._ready.set()

    def __enter__(self):
        self._thread.start()
        assert self._ready.wait(10)
        return self

    def where(self, kind: str) -> str:
        return next(line.split()[1] for line in self.lines if line.startswith(kind))

    def do(self, action):
        self.loop.call_soon_threadsafe(action)

    def join(self):
        self._thread.join(10)

    def __exit__(self, *_):
        if self._thread.is_alive():
            self.do(self.task.cancel)
        self._thread.join(10)
        assert not self._thread.is_alive()


@contextlib.asynccontextmanager
async def connection(served: Served, kind: str = "tcp"):
    """A connection to one of its ports, closed at the end whatever happened."""
    host, port = address(served.where(kind).removeprefix("socket://"))
    reader, writer = await asyncio.open_connection(host, port)
    try:
        yield reader, writer
    finally:
        writer.close()
        with contextlib.suppress(ConnectionError):
            await writer.wait_closed()
