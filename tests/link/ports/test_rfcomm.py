"""RFCOMM without a radio: the bench at the other end of a socket pair."""

from __future__ import annotations

import asyncio
import errno
import os
import socket

import pytest

from bridge.link.exchange import Exchange
from bridge.link.link import ElmLink
from bridge.link.ports import rfcomm
from bridge.link.ports.opening import make_opener, open_port
from bridge.link.ports.port import GuardedPort
from bridge.link.ports.rfcomm import place_of
from bridge.values.errors import ForbiddenRequest, LinkLost, PortError
from simulators.car.scenes import make_bench

NAME = "rfcomm://00:1D:A5:00:00:01"


class Paired(socket.socket):
    """One end of a pair that believes it was connected over the air."""

    problem: OSError | None = None
    asked: tuple[str, int] | None = None

    def connect(self, place) -> None:
        type(self).asked = place
        if self.problem is not None:
            raise self.problem


@pytest.fixture
def far(monkeypatch):
    """Give the adapter's end of the next connection."""
    near, far = socket.socketpair()
    Paired.problem = None
    monkeypatch.setattr(rfcomm, "need_sockets", lambda: None)
    monkeypatch.setattr("bridge.link.ports.opening.need_sockets", lambda: None)
    monkeypatch.setattr(
        rfcomm, "make_socket", lambda: Paired(fileno=os.dup(near.fileno()))
    )
    yield far
    near.close()
    far.close()


async def serve(far: socket.socket) -> None:
    """Put the bench at the far end."""
    bench = make_bench("warm-day", None)
    reader, writer = await asyncio.open_connection(sock=far.dup())
    port = bench.attach(writer.write, writer.close)
    try:
        while data := await reader.read(4096):
            port.feed(data)
    finally:
        bench.close()
        writer.close()


async def test_an_adapter_is_set_up_and_asked_over_it(far) -> None:
    bench = asyncio.create_task(serve(far))
    port = await open_port(NAME + "/3", 38_400)
    assert Paired.asked == ("00:1D:A5:00:00:01", 3)
    assert not hasattr(port, "set_baud"), "it has no speed"
    link = ElmLink(Exchange(GuardedPort(port)))
    await link.connect()
    units = await link.find_units()
    assert isinstance(units, dict)
    assert 0x7E8 in units
    with pytest.raises(ForbiddenRequest):
        GuardedPort(port).write_line("2E115700")
    await link.aclose()
    bench.cancel()
    await asyncio.wait({bench})


async def test_a_connection_that_ends_is_lost_at_once(far) -> None:
    port = await open_port(NAME, 38_400)
    far.sendall(b"ELM327 v1.5\r\r>")
    assert (await port.read())[0] == b"ELM327 v1.5\r\r>"
    far.shutdown(socket.SHUT_RDWR)
    with pytest.raises(LinkLost, match="ended the connection"):
        await port.read()
    with pytest.raises(LinkLost):
        port.write(b"ATI\r")
    port.close()
    port.close()


@pytest.mark.parametrize(
    ("problem", "says"),
    [
        (OSError(errno.ECONNREFUSED, "refused"), "rfcomm://00:1D:A5:00:00:01/2"),
        (OSError(errno.EHOSTDOWN, "down"), "switched on"),
        (OSError(errno.EACCES, "no"), "wants to be paired"),
        (OSError(errno.EBUSY, "busy"), "another program holds it"),
        (OSError(errno.ENODEV, "none"), "Bluetooth is off or missing"),
        (TimeoutError("timed out"), "does not answer"),
    ],
)
async def test_each_way_of_not_connecting_has_its_sentence(far, problem, says) -> None:
    Paired.problem = problem
    with pytest.raises(PortError) as caught:
        await open_port(NAME, 38_400)
    assert says in str(caught.value)
    assert NAME in str(caught.value)


@pytest.mark.parametrize(
    ("name", "place"),
    [
        (NAME, ("00:1D:A5:00:00:01", 1)),
        (
            "rfcomm://00-1d-a5-00-00-01/30",
            ("00:1D:A5:00:00:01", 30),
        ),
    ],
)
def test_an_address_in_any_spelling(name: str, place: tuple[str, int]) -> None:
    assert place_of(name) == place


@pytest.mark.parametrize(
    "name",
    ["rfcomm://", "rfcomm://here", NAME + "/0", NAME + "/31", NAME + "/x", NAME + ":1"],
)
def test_what_is_no_address_is_said(name: str) -> None:
    with pytest.raises(PortError, match="is no Bluetooth address"):
        place_of(name)


def test_a_python_without_bluetooth_says_so(monkeypatch) -> None:
    monkeypatch.delattr(socket, "AF_BLUETOOTH", raising=False)
    with pytest.raises(PortError, match="without Bluetooth sockets"):
        make_opener(NAME, 38_400)


def test_the_systems_own_socket_is_asked_for(monkeypatch) -> None:
    made = []
    monkeypatch.setattr(socket, "AF_BLUETOOTH", 31, raising=False)
    monkeypatch.setattr(socket, "BTPROTO_RFCOMM", 3, raising=False)
    monkeypatch.setattr(rfcomm.socket, "socket", lambda *kind: made.append(kind))
    rfcomm.make_socket()
    assert made == [(31, socket.SOCK_STREAM, 3)]
