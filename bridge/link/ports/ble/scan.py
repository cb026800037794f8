"""Listening for BLE devices, and finding the one that is meant."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote

from bridge.link.clock import now_s, sleep
from bridge.link.ports.ble.serial_service import LIKELY
from bridge.link.ports.progress import progress
from bridge.link.ports.remedies import first_line
from bridge.values.errors import PortError
from bridge.values.frozen import frozen

if TYPE_CHECKING:
    from bleak import BleakScanner
    from bleak.backends.device import BLEDevice

SCAN_S = 10.0
"""How long is listened for one device: most tell of themselves every second or so."""
NAMESAKE_S = 1.5
"""How long is listened on for a second one of the same name."""
LOOK_S = 0.1
SAY_S = 1.0
EXTRA = (
    "Bluetooth Low Energy needs one more package, bleak: "
    "pip install 'sumpgate[ble]' brings it"
)
NO_BLUETOOTH = (
    "this computer's Bluetooth cannot be used ({}); switch it on, on Linux with the "
    "bluez service running"
)


@frozen
class Advertised:
    """A device that was heard."""

    address: str
    name: str
    """What it calls itself; '': nothing."""
    signal_dbm: int | None
    likely: bool
    """Whether it tells of a service that adapters use for their serial line."""
    device: BLEDevice


def need_bleak() -> Any:
    """Return the bleak package.

    Raises:
        PortError: it is not installed.
    """
    try:
        import bleak
    except ImportError:
        raise PortError(EXTRA) from None
    return bleak


async def listen(
    for_s: float, enough: Callable[[list[Advertised]], bool] = lambda _: False
) -> list[Advertised]:
    """Return what is heard within some seconds, or until it is ``enough``.

    Raises:
        PortError: Bluetooth is off or missing here, or bleak is.
    """
    bleak = need_bleak()
    try:
        async with bleak.BleakScanner() as scanner:
            return await _collect(scanner, for_s, enough)
    except (bleak.exc.BleakError, OSError, EOFError, TimeoutError) as problem:
        raise PortError(NO_BLUETOOTH.format(first_line(problem))) from problem


async def _collect(
    scanner: BleakScanner, for_s: float, enough: Callable[[list[Advertised]], bool]
) -> list[Advertised]:
    until_s = now_s() + for_s
    said_s = now_s() - SAY_S
    heard: list[Advertised] = []
    while now_s() < until_s and not enough(heard):
        if now_s() - said_s >= SAY_S:
            said_s = now_s()
            left = until_s - now_s()
            progress(
                f"listening for BLE devices: {len(heard)} heard, {left:.0f} s left"
            )
        await sleep(LOOK_S)
        found = scanner.discovered_devices_and_advertisement_data.values()
        heard = [_heard(device, beacon) for device, beacon in found]
    return sorted(heard, key=lambda h: -(h.signal_dbm or -200))


def _heard(device: BLEDevice, beacon: Any) -> Advertised:
    name = beacon.local_name or device.name or ""
    return Advertised(
        address=device.address,
        name="".join(c for c in name if c.isprintable()),
        signal_dbm=beacon.rssi,
        likely=any(u.lower() in LIKELY for u in beacon.service_uuids or ()),
        device=device,
    )


def is_meant(wanted: str, address: str, name: str) -> bool:
    """Return whether a name or address, perhaps percent-encoded, means a device."""
    spellings = {wanted.casefold(), unquote(wanted).casefold()}
    own = (address, address.replace(":", "-"), name)
    return not spellings.isdisjoint(map(str.casefold, own))


async def find(wanted: str) -> BLEDevice:
    """Return the one device of that name or address.

    Raises:
        PortError: not heard, or two of that name: either may be the other car's.
    """
    connected = await _connected(wanted)
    if connected is not None:
        return connected
    first_s: list[float] = []

    def enough(heard: list[Advertised]) -> bool:
        meant = [h for h in heard if is_meant(wanted, h.address, h.name)]
        if meant and not first_s:
            first_s.append(now_s())
        by_name = not any(_by_address(wanted, h) for h in meant)
        wait_s = NAMESAKE_S if by_name else 0.0
        return bool(first_s) and now_s() - first_s[0] >= wait_s

    heard = await listen(SCAN_S, enough)
    meant = [h for h in heard if is_meant(wanted, h.address, h.name)]
    if len(meant) == 1:
        return meant[0].device
    if meant:
        listed = ", ".join(f"ble://{h.address}" for h in meant)
        raise PortError(
            f"{len(meant)} BLE devices call themselves {unquote(wanted)!r}: unplug the "
            f"others, or name one by its address: {listed}"
        )
    raise PortError(_not_heard(wanted, heard))


def _by_address(wanted: str, heard: Advertised) -> bool:
    address = unquote(wanted).casefold().replace("-", ":")
    return heard.address.casefold().replace("-", ":") == address


def _not_heard(wanted: str, heard: list[Advertised]) -> str:
    named = [h.name for h in heard if h.name][:5]
    others = f"heard instead: {', '.join(named)}" if named else "no other with a name"
    return (
        f"no BLE device {unquote(wanted)!r} was heard in {SCAN_S:.0f} s ({others}): "
        "plug it in, ignition on, and close the program or telephone that holds it"
    )


async def _connected(wanted: str) -> BLEDevice | None:
    """Return the device if the system still holds it: then it is not heard."""
    bleak = need_bleak()
    with contextlib.suppress(Exception):  # a question only some systems answer
        async with asyncio.timeout(2.0):
            adapter = await bleak.BleakAdapter.get()
            held: list[BLEDevice] = await adapter.get_connected_devices()
            for device in held:
                if is_meant(wanted, device.address, device.name or ""):
                    return device
    return None
