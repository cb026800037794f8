"""A BLE adapter as a port: ``ble://NAME-OR-ADDRESS``.

Lines go out in chunks of what the connection carries, answers come in as
notifications. Where a device could be a serial line in more than one way, each is
tried with the line that means nothing until a prompt comes back.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from bridge.link.clock import now_s
from bridge.link.ports.ble.scan import find, need_bleak
from bridge.link.ports.ble.serial_service import UartWay, other_way, ways
from bridge.link.ports.port import GuardedPort
from bridge.link.ports.progress import progress
from bridge.link.ports.remedies import first_line
from bridge.protocol.request import NONSENSE
from bridge.values.errors import LinkLost, PortError

if TYPE_CHECKING:
    from bleak.backends.characteristic import BleakGATTCharacteristic

CONNECT_S = 20.0
SUBSCRIBE_S = 5.0
WRITE_S = 5.0
HANG_UP_S = 2.0
PROBE_S = 1.2
"""For the prompt after the line that means nothing, over one way of many."""
TRIES = 2
"""A first connection that breaks off at once is common over the air."""
LEAST_CHUNK = 20
"""Bytes of one write at the smallest MTU, 23 (Bluetooth Core, vol. 3 part F, 3.2.8)."""
MOST_CHUNK = 512
"""An attribute is never longer (there, 3.2.9)."""
_HELD = (
    "is it plugged in and near enough, and does no telephone or other program hold it?"
)


def chunks(data: bytes, size: int) -> Iterator[bytes]:
    """Yield the data in pieces of at most ``size`` bytes."""
    for start in range(0, len(data), size):
        yield data[start : start + size]


class BlePort:
    """A connected device, once `connect` has found its serial line."""

    def __init__(self, device: Any, name: str) -> None:
        self._name = name
        self._bleak = need_bleak()
        self._client = self._bleak.BleakClient(
            device, disconnected_callback=self._gone, timeout=CONNECT_S
        )
        self._in: asyncio.Queue[tuple[bytes, float] | LinkLost] = asyncio.Queue()
        self._out: asyncio.Queue[bytes | None] = asyncio.Queue()
        self._way: UartWay | None = None
        self._lost: LinkLost | None = None
        self._task: asyncio.Task[None] | None = None

    async def connect(self) -> None:
        """Connect, find the serial line and begin to write.

        Raises whatever bleak or the system does, PortError, LinkLost.
        """
        async with asyncio.timeout(CONNECT_S):
            await self._client.connect()
        self._task = asyncio.create_task(self._serve())
        try:
            await self._settle()
        except BaseException:
            self.close()
            await asyncio.wait({self._task}, timeout=HANG_UP_S)
            raise

    async def read(self) -> tuple[bytes, float]:
        """Return the next bytes and the loop time at which they arrived."""
        item = await self._in.get()
        if isinstance(item, LinkLost):
            self._in.put_nowait(item)  # every later read says the same
            raise item
        return item

    def write(self, data: bytes) -> None:
        """Queue bytes for the device."""
        if self._lost is not None:
            raise self._lost
        self._out.put_nowait(data)

    def close(self) -> None:
        """End what is being written and hang up."""
        self._end("it was closed")
        self._out.put_nowait(None)

    # -- the serial line ------------------------------------------------------

    async def _settle(self) -> None:
        """Settle on a way: the only one, or the first that a prompt comes back on."""
        every = ways(self._client.services)
        if not every:
            raise PortError(
                f"cannot open port {self._name}: the device offers nothing like a "
                "serial line, so it is no adapter of this kind; name another"
            )
        if len(every) == 1:
            await self._use(every[0])
            return
        for place, way in enumerate(every):
            progress(f"trying serial line {place + 1} of {len(every)} it could have")
            if await self._takes(way) and await self._answers(twice=place > 0):
                return
        await self._use(every[0])  # silent: the link says so in its own words

    async def _takes(self, way: UartWay) -> bool:
        """Turn to a way; False: the device refuses to notify there."""
        try:
            await self._use(way)
        except self._bleak.exc.BleakError as problem:
            if _wants_pairing(problem):
                raise
            return False
        return True

    async def _use(self, way: UartWay) -> None:
        before = self._way.listen if self._way is not None else None
        self._way = way
        if before is way.listen:
            return
        async with asyncio.timeout(SUBSCRIBE_S):
            if before is not None:
                with contextlib.suppress(self._bleak.exc.BleakError):
                    await self._client.stop_notify(before)
            await self._client.start_notify(way.listen, self._notified)

    async def _answers(self, *, twice: bool) -> bool:
        """Return whether a prompt comes; ``twice``: the first may be a late one."""
        for _ in range(2 if twice else 1):
            self._drain()
            GuardedPort(self).write_line(NONSENSE)
            if not await self._prompt():
                return False
        return True

    async def _prompt(self) -> bool:
        try:
            async with asyncio.timeout(PROBE_S):
                while b">" not in (await self.read())[0]:
                    pass
        except TimeoutError:
            return False
        return True

    def _drain(self) -> None:
        while not self._in.empty():
            item = self._in.get_nowait()
            if isinstance(item, LinkLost):
                self._in.put_nowait(item)
                raise item

    # -- the device -----------------------------------------------------------

    def _notified(self, _: BleakGATTCharacteristic, data: bytearray) -> None:
        if self._lost is None and data:
            self._in.put_nowait((bytes(data), now_s()))

    def _gone(self, _: Any) -> None:
        self._end("the connection broke off")

    def _end(self, why: str) -> None:
        if self._lost is None:
            self._lost = LinkLost(f"the port {self._name} is gone ({why})")
            self._in.put_nowait(self._lost)

    async def _serve(self) -> None:
        """Write what is queued; hang up in the end, however it comes."""
        try:
            while (data := await self._out.get()) is not None:
                for piece in chunks(data, self._chunk()):
                    await self._send(piece)
        except Exception as problem:
            self._end(first_line(problem))
        finally:
            await self._hang_up()

    def _chunk(self) -> int:
        size = 0
        if self._way is not None:
            size = self._way.write.max_write_without_response_size
        return min(max(LEAST_CHUNK, size), MOST_CHUNK)

    async def _send(self, piece: bytes) -> None:
        """Write one piece; what is refused one way goes the other, if there is one."""
        way = self._way
        if way is None:
            return
        try:
            await self._put(way, piece)
        except self._bleak.exc.BleakError:
            other = other_way(way)
            if other is None or self._lost is not None:
                raise
            await self._put(other, piece)
            if self._way is way:
                self._way = other

    async def _put(self, way: UartWay, piece: bytes) -> None:
        async with asyncio.timeout(WRITE_S):
            await self._client.write_gatt_char(way.write, piece, response=way.response)

    async def _hang_up(self) -> None:
        """Disconnect, also while the loop ends: else the device stays held."""
        for _ in range(2):
            try:
                async with asyncio.timeout(HANG_UP_S):
                    await self._client.disconnect()
            except asyncio.CancelledError:
                continue
            except Exception:
                return
            return


def _wants_pairing(problem: BaseException) -> bool:
    text = str(problem).lower()
    return "authenti" in text or "encrypt" in text or "notpermitted" in text


class _BreaksOff(Exception):  # noqa: N818 - a state of affairs
    """It does not connect this time; says why."""


class BleDoor:
    """Opens the same device again and again: once met, by its address alone.

    Names are shared; after a break a namesake may be another car's adapter.
    """

    def __init__(self, wanted: str) -> None:
        self._wanted = wanted
        self._address = ""

    async def open(self) -> BlePort:
        """Find, connect, settle on a serial line.

        Raises:
            PortError: one sentence with the port and the remedy.
        """
        name = f"ble://{self._wanted}"
        device = await find(self._address or self._wanted)
        for attempt in range(TRIES - 1):
            with contextlib.suppress(_BreaksOff):
                return await self._connected(device, name)
            progress(f"connecting once more, {attempt + 2} of {TRIES}")
        try:
            return await self._connected(device, name)
        except _BreaksOff as problem:
            raise PortError(f"cannot open port {name}: {problem}") from problem

    async def _connected(self, device: Any, name: str) -> BlePort:
        progress(f"connecting to {device.name or device.address}")
        port = BlePort(device, name)
        try:
            await port.connect()
        except TimeoutError:
            why = f"it was heard but does not connect; {_HELD}"
            raise PortError(f"cannot open port {name}: {why}") from None
        except (LinkLost, OSError, EOFError, need_bleak().exc.BleakError) as problem:
            if _wants_pairing(problem):
                why = (
                    "it wants to be paired; pair it in the system's Bluetooth settings"
                )
                raise PortError(f"cannot open port {name}: {why}") from problem
            raise _BreaksOff(_why(problem)) from problem
        self._address = device.address
        return port


def _why(problem: BaseException) -> str:
    if isinstance(problem, LinkLost):
        return f"the connection breaks off at once; {_HELD}"
    return f"it does not connect ({first_line(problem)}); {_HELD}"
