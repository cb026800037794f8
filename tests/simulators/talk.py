"""A program on a bench pipe in simulated time, for driving faults."""

from __future__ import annotations

import asyncio

from simulators.car.scenes import make_bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe


class Talk:
    """A program on a bench pipe, with a deadline in simulated time."""

    def __init__(self, bench):
        self.bench = bench
        self.pipe = BenchPipe(bench)

    async def raw(self, data: bytes, wait_s: float = 3.0) -> bytes:
        self.pipe.write(data)
        return await self.rest(wait_s)

    async def rest(self, wait_s: float = 3.0) -> bytes:
        out = b""
        try:
            async with asyncio.timeout(wait_s):
                while not out.endswith(b">"):
                    out += (await self.pipe.read())[0]
        except TimeoutError:
            pass
        return out

    async def ask(self, text: str, wait_s: float = 3.0) -> list[str]:
        out = (await self.raw(text.encode() + b"\r", wait_s)).decode("latin-1")
        return [line for line in out.rstrip(">").split("\r") if line.strip()]

    async def ready(self):
        for text in ("ATZ", "ATE0", "ATL0", "ATS0", "ATH1", "ATSP6", "ATSH7E1"):
            await self.ask(text)
        return self


def on_bench(play, **options):
    """Run a play with a ready program on a bench in simulated time."""

    async def main():
        bench = make_bench("cold-start", None, **options)
        try:
            return await play(bench, await Talk(bench).ready())
        finally:
            bench.close()

    with asyncio.Runner(loop_factory=PacedLoop) as runner:
        return runner.run(main())


def asked(name: str, *commands: str, **options) -> list[str]:
    """The lines of the last command's answer with one fault on."""

    async def play(bench, talk):
        bench.fault(name, **options)
        lines = []
        for command in commands or ("221157",):
            lines = await talk.ask(command)
        return lines

    return on_bench(play)
