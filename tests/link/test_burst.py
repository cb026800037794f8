"""A burst without a pause is handed on in bounded pieces, each read once."""

from __future__ import annotations

import asyncio
import socket
import threading

import pytest

from bridge.link.exchange import AdapterSilent, Exchange
from bridge.link.ports.opening import open_port
from bridge.link.ports.port import GuardedPort
from bridge.link.ports.serial_port import CHUNK, SerialPort

BURST = 2_000_000


class Flooded:
    """A serial device with a lot waiting; notes how much each read asked for."""

    timeout = 0.1

    def __init__(self, count: int) -> None:
        self.left, self.asked = count, []

    @property
    def in_waiting(self) -> int:
        return self.left

    def read(self, size: int) -> bytes:
        if not self.left:
            raise OSError("unplugged")
        self.asked.append(size)
        size = min(size, self.left)
        self.left -= size
        return b"x" * size

    def close(self) -> None:
        """Nothing to close."""


def test_a_serial_burst_is_read_in_bounded_pieces() -> None:
    device = Flooded(BURST)

    async def run() -> int:
        port, got = SerialPort(device, "flooded"), 0
        while got < BURST:
            data, _ = await port.read()
            assert len(data) <= CHUNK + 1
            got += len(data)
        return got

    assert asyncio.run(run()) == BURST
    assert len(device.asked) <= 2 * (BURST // CHUNK + 1)


def test_after_a_burst_from_a_socket_the_next_question_is_answered() -> None:
    server = socket.create_server(("127.0.0.1", 0))

    def adapter() -> None:
        client, _ = server.accept()
        with client:
            client.recv(100)
            client.sendall(b"7E9046211576EAAAAAA\r" * (BURST // 20))
            while line := client.recv(100):
                client.sendall(b"?\r\r>" if line == b"!\r" else b"OK\r\r>")

    threading.Thread(target=adapter, daemon=True).start()

    async def run() -> tuple[str, ...]:
        name = f"socket://127.0.0.1:{server.getsockname()[1]}"
        exchange = Exchange(GuardedPort(await open_port(name, 38400)))
        with pytest.raises(AdapterSilent):
            await exchange.ask("0100", deadline_s=5.0)
        await asyncio.sleep(1.0)
        await exchange.resync(deadline_s=5.0)
        said = await exchange.ask("ATE0", deadline_s=5.0)
        exchange.close()
        return said.lines

    assert asyncio.run(run()) == ("OK",)
    server.close()
