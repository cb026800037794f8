"""The bench behind real ports: TCP, pseudo-terminal, control."""

from __future__ import annotations

import asyncio
import os
import sys

import pytest

from bridge.values.errors import PortError
from simulators.car.scenes import make_bench
from simulators.serve.ports import serve_pty, serve_tcp
from simulators.serve.served import address, run_bench
from tests.simulators.served import Served, connection


async def talk(reader, writer, text: bytes) -> bytes:
    writer.write(text + b"\r")
    return await asyncio.wait_for(reader.readuntil(b">"), 60)


async def test_tcp_one_program_after_another_with_the_same_car():
    with Served(tcp="127.0.0.1:0") as served:
        async with connection(served) as (reader, writer):
            await talk(reader, writer, b"ATE0")
            assert (await talk(reader, writer, b"0100")).startswith(b"SEARCHING")
            async with connection(served) as (second, _writer):
                assert await _ended(second)
            assert (await talk(reader, writer, b"ATRV")).startswith(b"14.1V")
        served.bench.car.speed_kmh = 9.0
        async with connection(served) as (reader, writer):
            said = await talk(reader, writer, b"010D")
            assert said.startswith(b"010D\r\nSEARCHING")
            assert b"41 0D 09" in said


async def test_tcp_unplugged_and_back():
    with Served(tcp="127.0.0.1:0") as served:
        async with connection(served) as (reader, _writer):
            served.do(lambda: served.bench.unplug(600))
            assert await _ended(reader)
        async with connection(served) as (reader, _writer):
            assert await _ended(reader)
        served.do(served.bench.replug)
        await asyncio.sleep(0.05)
        async with connection(served) as (reader, writer):
            assert b"ELM327" in await talk(reader, writer, b"ATI")


async def test_cancelling_while_a_program_is_connected():
    with Served(tcp="127.0.0.1:0") as served:
        async with connection(served) as (reader, writer):
            await talk(reader, writer, b"ATRV")
            served.do(served.task.cancel)
            assert await _ended(reader)
        served.join()


async def test_cancelling_while_a_program_is_just_connecting():
    with Served(tcp="127.0.0.1:0") as served:
        async with connection(served) as (reader, _writer):
            served.do(served.task.cancel)
            assert await _ended(reader)
        served.join()


async def _ended(reader) -> bool:
    try:
        return await asyncio.wait_for(reader.read(), 60) == b""
    except ConnectionError:
        return True


async def test_a_taken_port_is_said_in_one_sentence():
    with Served(tcp="127.0.0.1:0") as served:
        host, port = address(served.where("tcp").removeprefix("socket://"))
        with pytest.raises(PortError, match=f"Port {port} .* taken"):
            await serve_tcp(make_bench("cold-start", None), host, port)
        with pytest.raises(PortError, match=str(port)):
            await run_bench(
                make_bench("cold-start", None), tcp="127.0.0.1:0",
                control=f"{host}:{port}", say=lambda _line: None,
            )  # fmt: skip
    with pytest.raises(PortError, match="cannot listen"):
        await serve_tcp(make_bench("cold-start", None), "no.such.host.invalid", 1)


async def test_control_of_a_running_bench():
    with Served(tcp="127.0.0.1:0", control="127.0.0.1:0") as served:
        async with connection(served, "control") as (reader, writer):
            writer.write(b"fault silent on\nnonsense\n" + b"x" * 5000 + b"\n")
            assert await reader.readline() == b"ok\n"
            assert (await reader.readline()).startswith(b"error: ")
            assert (await reader.readline()).startswith(b"error: ")
            assert "silent" in served.bench.active


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals there")
def test_a_pty_survives_programs_coming_and_going():
    with Served(pty=True) as served:
        for turn in range(3):
            file = os.open(served.where("pty"), os.O_RDWR | os.O_NOCTTY)
            try:
                os.write(file, b"ATE0\r" if turn == 0 else b"ATI\r")
                said = b""
                while not said.endswith(b">"):
                    said += os.read(file, 100)
            finally:
                os.close(file)
            # The adapter keeps its settings, like one on a USB lead: no echo now.
            assert said.startswith(b"ATE0\r" if turn == 0 else b"ELM327")


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals there")
async def test_an_unplugged_pty_comes_back_under_a_path_that_is_told():
    bench = make_bench("cold-start", None)
    paths: asyncio.Queue[str] = asyncio.Queue()
    task = asyncio.create_task(serve_pty(bench, on_ready=paths.put_nowait))
    first = await paths.get()
    file = os.open(first, os.O_RDWR | os.O_NOCTTY)
    bench.unplug(0.05)
    await paths.get()
    with pytest.raises(OSError, match="error"):
        os.write(file, b"x")
    os.close(file)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task
