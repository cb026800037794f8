"""A radio that is none: bleak's own backends, with benches as GATT servers behind them.

Packets move at connection events only (Bluetooth Core, vol. 6 part B, 4.5.1), so many
to an event and no longer than the MTU less three bytes of ATT header (vol. 3 part F,
3.4.7.1 notification, 3.4.5.1 write request, 3.4.5.3 write command).
"""

from __future__ import annotations

import asyncio
import contextlib
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import bleak
import pytest
from bleak.backends.adapter import BaseBleakAdapter
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient
from bleak.backends.descriptor import BleakGATTDescriptor
from bleak.backends.device import BLEDevice
from bleak.backends.scanner import AdvertisementData, BaseBleakScanner
from bleak.backends.service import BleakGATTService, BleakGATTServiceCollection
from bleak.exc import BleakError, BleakGATTProtocolError
from bleak.uuids import normalize_uuid_str

from bridge.values.errors import LinkLost
from simulators.serve.bench import Bench, BenchPort

N, IND, W, C, R = "notify", "indicate", "write", "write-without-response", "read"
Chars = tuple[tuple[str, tuple[str, ...]], ...]
COMMON: tuple[tuple[str, Chars], ...] = (
    ("1800", (("2a00", (R, W)), ("2a01", (R,)))),
    ("1801", (("2a05", (IND,)), ("2b29", (R, W)))),
    ("180f", (("2a19", (R, N)),)),
)
"""What nearly every device has besides: none of it is a serial line."""
NUS = "6e40000{}-b5a3-f393-e0a9-e50e24dcca9e"
ODD = "0badc0de-0000-4000-8000-00000000000{}"


@dataclass(frozen=True, kw_only=True)
class Layout:
    """The services of a device, and which characteristics are the serial line."""

    services: tuple[tuple[str, Chars], ...]
    out: str
    """Where answers come from."""
    into: str
    """Where lines are taken."""


def _one(service: str, *chars: tuple[str, tuple[str, ...]], out: str, into: str):
    return Layout(services=(*COMMON, (service, chars)), out=out, into=into)


LAYOUTS = {
    "FFE0, one": _one("ffe0", ("ffe1", (R, N, C)), out="ffe1", into="ffe1"),
    "FFE0, one, both writes": _one(
        "ffe0", ("ffe1", (R, N, W, C)), out="ffe1", into="ffe1"
    ),
    "FFF0, two": _one(
        "fff0", ("fff1", (N,)), ("fff2", (W, C)), out="fff1", into="fff2"
    ),
    "FFF0, two, with response only": _one(
        "fff0", ("fff1", (N,)), ("fff2", (W,)), out="fff1", into="fff2"
    ),
    "18F0, two": _one(
        "18f0", ("2af0", (N,)), ("2af1", (W, C)), out="2af0", into="2af1"
    ),
    "Nordic UART": _one(
        NUS.format(1),
        (NUS.format(2), (W, C)),
        (NUS.format(3), (N,)),
        out=NUS.format(3),
        into=NUS.format(2),
    ),
    "ids nobody knows, indicate": _one(
        ODD.format(1),
        (ODD.format(2), (IND,)),
        (ODD.format(3), (W,)),
        out=ODD.format(2),
        into=ODD.format(3),
    ),
    "both can do both": _one(
        "fff0", ("fff1", (N, W, C)), ("fff2", (N, W, C)), out="fff1", into="fff2"
    ),
    "a second service that leads nowhere": Layout(
        services=(
            *COMMON,
            ("fff0", (("fff1", (N,)), ("fff2", (W, C)))),
            ("ffe0", (("ffe1", (N, W, C)),)),
        ),
        out="ffe1",
        into="ffe1",
    ),
}


@dataclass(kw_only=True)
class Device:
    """One adapter on the air, with a bench behind it."""

    bench: Bench
    layout: Layout = LAYOUTS["FFE0, one"]
    address: str = "02:00:00:00:00:01"
    name: str | None = "OBDBLE"
    mtu: int = 23
    interval_s: float = 0.03
    per_event: int = 4
    """Packets an event carries each way."""
    lag_s: float = 0.0
    """Extra seconds before an answer leaves as notifications."""
    refuses_commands: str = ""
    """What becomes of a write without response: '' taken, 'error' or 'silence'."""
    wants_pairing: bool = False
    on_air: bool = True
    held: Client | None = None
    pairings: int = 0
    written: list[tuple[str, bytes, bool]] = field(default_factory=list)

    def break_off(self) -> None:
        """Lose the connection, as out of reach."""
        if self.held is not None:
            self.held.cut()


class Radio:
    """The devices there are, and bleak made to see them."""

    def __init__(self, *devices: Device) -> None:
        self.devices = list(devices)
        self.scans = 0
        self.problem: Exception | None = None

    @contextlib.contextmanager
    def on(self) -> Iterator[Radio]:
        """Hand the simulated backends to bleak."""
        made = {"radio": self}
        with pytest.MonkeyPatch.context() as patch:
            for name, base in (
                ("scanner", Scanner),
                ("client", Client),
                ("adapter", Adapter),
            ):
                kind = type(base.__name__, (base,), made)
                patch.setattr(
                    bleak,
                    f"get_platform_{name}_backend_type",
                    lambda kind=kind: (kind, "simulated"),
                )
            yield self


class Scanner(BaseBleakScanner):
    """Hears every device that is on the air and held by nobody."""

    radio: Radio

    def __init__(self, callback: Any, uuids: Any, mode: str, **_: Any) -> None:
        super().__init__(callback, uuids)
        self._task: asyncio.Task[None] | None = None

    async def start(self) -> None:
        if self.radio.problem is not None:
            raise self.radio.problem
        self.radio.scans += 1
        self._task = asyncio.create_task(self._hear())

    async def stop(self) -> None:
        if self._task is not None:
            self._task.cancel()

    async def _hear(self) -> None:
        while True:
            await asyncio.sleep(0.5)
            for number, device in enumerate(self.radio.devices):
                if device.on_air and device.held is None:
                    told = AdvertisementData(
                        device.name, {}, {}, [], None, -50 - number, ()
                    )
                    heard = self.create_or_update_device(
                        device.address, device.address, device.name, device, told
                    )
                    self.call_detection_callbacks(heard, told)


class Adapter(BaseBleakAdapter):
    """Tells which devices the system still holds."""

    radio: Radio

    @classmethod
    async def get(cls, **_: Any) -> Adapter:
        return cls()

    async def get_connected_devices(self, service_uuids: Any) -> list[BLEDevice]:
        return [
            BLEDevice(d.address, d.name, d)
            for d in self.radio.devices
            if d.held is not None
        ]


class Client(BaseBleakClient):
    """The central's end of a connection to one device."""

    radio: Radio

    def __init__(self, device: BLEDevice, **kwargs: Any) -> None:
        super().__init__(device, **kwargs)
        self._server: Device = device.details
        self._port: BenchPort | None = None
        self._callback: Any = None
        self._from: str | None = None
        self._buffer = bytearray()
        self._due = False
        self._began_s = 0.0

    @property
    def mtu_size(self) -> int:
        return self._server.mtu

    @property
    def is_connected(self) -> bool:
        return self._server.held is self

    async def connect(self, pair: bool, **_: Any) -> None:
        server = self._server
        await asyncio.sleep(0.1)
        if pair:
            server.pairings += 1
        if not server.on_air or server.held not in (None, self):
            await asyncio.sleep(60.0)
        try:
            self._port = server.bench.attach(self._deliver, self.cut)
        except LinkLost as lost:
            raise BleakError(str(lost)) from None
        self._began_s = asyncio.get_running_loop().time()
        server.held = self
        self.services = _services(server)

    async def disconnect(self) -> None:
        await asyncio.sleep(0.05)
        self._let_go()

    def cut(self) -> None:
        """End the connection from the device's side."""
        if self._let_go() and self._disconnected_callback is not None:
            self._disconnected_callback()

    def _let_go(self) -> bool:
        if self._server.held is not self:
            return False
        self._server.held = None
        if self._port is not None:
            self._port.detach()
        return True

    async def pair(self, *_: Any, **__: Any) -> None:
        self._server.pairings += 1

    async def unpair(self) -> None:
        raise NotImplementedError

    async def read_gatt_char(self, characteristic: Any, **_: Any) -> bytearray:
        raise NotImplementedError

    async def read_gatt_descriptor(
        self, descriptor: BleakGATTDescriptor, **_: Any
    ) -> bytearray:
        raise NotImplementedError

    async def write_gatt_descriptor(self, descriptor: Any, data: Any) -> None:
        raise NotImplementedError

    # -- packets --------------------------------------------------------------

    def _next_event_s(self, after: int = 0) -> float:
        loop = asyncio.get_running_loop()
        gone = math.floor(
            (loop.time() - self._began_s) / self._server.interval_s + 1e-9
        )
        return self._began_s + (gone + 1 + after) * self._server.interval_s

    async def write_gatt_char(
        self, characteristic: BleakGATTCharacteristic, data: Any, response: bool
    ) -> None:
        server, data = self._server, bytes(data)
        if server.held is not self:
            raise BleakError("Not connected")
        if len(data) > server.mtu - 3:
            raise BleakGATTProtocolError(0x0D)
        if not response and server.refuses_commands == "error":
            raise BleakError("write without response is not supported")
        loop = asyncio.get_running_loop()
        server.written.append((characteristic.uuid, data, response))
        right = characteristic.uuid == normalize_uuid_str(server.layout.into)
        lost = not response and server.refuses_commands == "silence"
        if right and not lost and self._port is not None:
            loop.call_at(self._next_event_s(), self._port.feed, data)
        if response:
            await asyncio.sleep(self._next_event_s(1) - loop.time())

    async def start_notify(
        self, characteristic: BleakGATTCharacteristic, callback: Any, **_: Any
    ) -> None:
        if self._server.wants_pairing:
            raise BleakGATTProtocolError(0x05)
        await asyncio.sleep(self._next_event_s(1) - asyncio.get_running_loop().time())
        self._callback, self._from = callback, characteristic.uuid

    async def stop_notify(self, characteristic: BleakGATTCharacteristic) -> None:
        self._from = None

    def _deliver(self, data: bytes) -> None:
        self._buffer += data
        if not self._due:
            self._due = True
            loop = asyncio.get_running_loop()
            loop.call_at(self._next_event_s() + self._server.lag_s, self._event)

    def _event(self) -> None:
        self._due = False
        size = self._server.mtu - 3
        for _ in range(self._server.per_event):
            piece, self._buffer = self._buffer[:size], self._buffer[size:]
            listening = self._from == normalize_uuid_str(self._server.layout.out)
            if piece and listening and self._server.held is self:
                self._callback(piece)
        if self._buffer:
            self._due = True
            asyncio.get_running_loop().call_at(self._next_event_s(), self._event)


def _services(server: Device) -> BleakGATTServiceCollection:
    found = BleakGATTServiceCollection()
    handle = 1
    for uuid, chars in server.layout.services:
        service = BleakGATTService(None, handle, normalize_uuid_str(uuid))
        found.add_service(service)
        for own, properties in chars:
            handle += 2
            found.add_characteristic(
                BleakGATTCharacteristic(
                    None,
                    handle,
                    normalize_uuid_str(own),
                    list(properties),  # type: ignore[arg-type]
                    lambda: server.mtu - 3,
                    service,
                )
            )
        handle += 1
    return found
