"""A bench on its own: served, controlled, until somebody stops it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from simulators.serve.control import serve_control
from simulators.serve.ports import serve_pty, serve_tcp

if TYPE_CHECKING:
    from simulators.serve.bench import Bench

Say = Callable[[str], None]


async def run_bench(
    bench: Bench,
    *,
    tcp: str | None = None,
    pty: bool = False,
    control: str | None = None,
    say: Say = print,
) -> None:
    """Serve a bench until cancelled; ``say`` gets one line when a port is ready.

    ``tcp`` and ``control`` are HOST:PORT, port 0 picking a free one. Raises PortError
    if a port cannot be had, UsageError if an address makes no sense.
    """
    jobs: list[Coroutine[object, object, None]] = []
    if tcp is not None:
        host, port = address(tcp)
        jobs.append(
            serve_tcp(
                bench, host, port, on_ready=lambda h, p: say(f"tcp socket://{h}:{p}")
            )
        )
    if pty:
        jobs.append(serve_pty(bench, on_ready=lambda path: say(f"pty {path}")))
    if control is not None:
        host, port = address(control)
        jobs.append(
            serve_control(
                bench, host, port, on_ready=lambda h, p: say(f"control {h}:{p}")
            )
        )
    await _first_failure(jobs)


async def _first_failure(jobs: list[Coroutine[object, object, None]]) -> None:
    """Run all jobs; the first that fails ends the others and its error counts."""
    tasks = [asyncio.ensure_future(job) for job in jobs]
    try:
        await asyncio.gather(*tasks)
    finally:
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


def address(text: str) -> tuple[str, int]:
    """Split HOST:PORT (an IPv6 host in brackets); raises UsageError."""
    host, colon, port = text.rpartition(":")
    if not colon or not host or not _is_port(port):
        raise UsageError(
            f"{text[:80]!r} is no address: write HOST:PORT, such as 127.0.0.1:35000."
        )
    return host.strip("[]"), int(port)


def _is_port(text: str) -> bool:
    return text.isdecimal() and len(text) <= 5 and int(text) <= 65535
