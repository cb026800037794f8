"""Which ports this machine has that an adapter may be behind, and which to use."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable, Iterable
from enum import StrEnum
from pathlib import Path
from typing import Protocol

from serial.tools import list_ports  # noqa: TID251 - port search belongs to the wire

from bridge.link.ports.holders import holders
from bridge.link.ports.progress import progress
from bridge.link.ports.remedies import RFCOMM, UNBOUND, held, not_permitted
from bridge.values.errors import PortError
from bridge.values.frozen import frozen

_NOTHING = ("", "n/a")
USUAL_WIFI = (
    "socket://192.168.0.10:35000",
    "socket://192.168.1.10:35000",
    "socket://192.168.4.1:35000",
)
"""Where adapters with a network of their own listen (common practice, no source)."""
WIFI_CONNECT_S = 2.0


class Entry(Protocol):
    """What pyserial says about a port."""

    device: str
    description: str
    hwid: str
    manufacturer: str | None
    product: str | None
    vid: int | None
    pid: int | None
    serial_number: str | None


class PortKind(StrEnum):
    """How an adapter is connected."""

    SERIAL = "serial"
    BLUETOOTH = "bluetooth"
    BLE = "ble"
    WIFI = "wifi"


@frozen
class FoundPort:
    """A port, what the system calls it, and what keeps it from being used."""

    device: str
    description: str
    kind: PortKind = PortKind.SERIAL
    identity: str = ""
    """What tells it from others under any name: USB ids and serial number."""
    problem: str = ""
    """What is wrong and what to do; '': nothing known to be wrong."""

    def __str__(self) -> str:
        """Return the port as a list shows it."""
        shown = f"{self.device} ({self.description})"
        return f"{shown}: {self.problem}" if self.problem else shown


def find_ports() -> tuple[FoundPort, ...]:
    """Return the ports that may have an adapter behind them, in a stable order."""
    return sort_out(list_ports.comports(), trouble=trouble)


def trouble(device: str) -> str:
    """Return what keeps a device from being used and what to do; '': nothing known."""
    if not Path(device).exists():
        return ""  # no such file on this system: only opening it can tell
    if not os.access(device, os.R_OK | os.W_OK):
        return not_permitted(device)
    return held(device) if holders(device) else ""


def sort_out(
    entries: Iterable[Entry], *, trouble: Callable[[str], str]
) -> tuple[FoundPort, ...]:
    """Return the entries that may be an adapter, described for a person."""
    found = [
        FoundPort(
            device=entry.device,
            description=describe(entry),
            kind=PortKind.BLUETOOTH if _is_bluetooth(entry) else PortKind.SERIAL,
            identity=identify(entry),
            problem=trouble(entry.device),
        )
        for entry in entries
        if _may_be_adapter(entry)
    ]
    return tuple(sorted(found, key=lambda port: port.device))


def identify(entry: Entry) -> str:
    """Return 'usb:VID:PID:SERIAL' of a USB device, '' for anything else.

    Cheap ones have no serial number: then the last part is empty.
    """
    if entry.vid is None or entry.pid is None:
        return ""
    number = "".join(c for c in entry.serial_number or "" if c.isprintable())
    return f"usb:{entry.vid:04X}:{entry.pid:04X}:{number}"


def _may_be_adapter(entry: Entry) -> bool:
    """Leave out the machine's own sockets, which have nothing behind them."""
    return _is_bluetooth(entry) or (entry.hwid or "") not in _NOTHING


def _is_bluetooth(entry: Entry) -> bool:
    hardware = (entry.hwid or "").upper()
    return entry.device.startswith(RFCOMM) or hardware.startswith("BTHENUM")


def describe(entry: Entry) -> str:
    """Return what the system calls the hardware behind a port, printable."""
    names = [entry.product or entry.description or "", entry.manufacturer or ""]
    known = [n.strip() for n in names if n.strip().lower() not in _NOTHING]
    known = [n for n in known if n != entry.device]
    if _is_bluetooth(entry):
        known.insert(0, "Bluetooth")
    text = ", ".join(dict.fromkeys(known)) or "no description"
    return "".join(char for char in text if char.isprintable())


def identity_of(device: str) -> str:
    """Return what tells the device at a port from others, '' if nothing does."""
    known = {port.device: port.identity for port in find_ports()}
    return known.get(device, "")


def find_again(device: str, identity: str) -> str:
    """Return where an adapter is now, by what it is rather than by its name.

    Raises:
        PortError: its port belongs to something else, or two are alike.
    """
    found = find_ports()
    alike = [port.device for port in found if port.identity == identity]
    if device in alike or not (alike or device in {port.device for port in found}):
        return device
    if len(alike) == 1:
        progress(f"it is at {alike[0]} now")
        return alike[0]
    if alike:
        raise PortError(
            f"{' and '.join(alike)} are alike and neither is {device}, where the "
            "adapter was: unplug the other one, or start again with --port"
        )
    raise PortError(
        f"{device} is another device than before: plug the adapter in again, or start "
        "again with --port"
    )


def remembered(
    found: tuple[FoundPort, ...], device: str, identity: str
) -> FoundPort | None:
    """Return the port used last time, by what it is, else by its name."""
    if identity:
        alike = [port for port in found if port.identity == identity]
        at_home = [port for port in alike if port.device == device]
        return (at_home or alike)[0] if at_home or len(alike) == 1 else None
    return next((port for port in found if port.device == device), None)


def candidates(
    found: tuple[FoundPort, ...], device: str = "", identity: str = ""
) -> tuple[FoundPort, ...]:
    """Return the ports worth trying; the one of last time, if it is there, alone.

    Raises:
        PortError: none is there, or none that may be used.
    """
    last = remembered(found, device, identity)
    if last is not None and not last.problem:
        return (last,)
    usable = tuple(port for port in found if not port.problem)
    if last is None and ("://" in device or (device and Path(device).exists())):
        usable = (FoundPort(device=device, description="as last time"), *usable)
    if usable:
        return usable
    if found:
        listed = "; ".join(map(str, found))
        raise PortError(f"no port can be used: {listed}")
    raise PortError(
        "no adapter found on any port: plug it in, or name its port with --port "
        "(a device, COMn, socket://host:port, rfcomm://ADDRESS or ble://NAME; "
        f"'sumpgate ports --ble --wifi' looks further). A Bluetooth one: {UNBOUND}"
    )


async def wifi_ports(addresses: Iterable[str]) -> tuple[FoundPort, ...]:
    """Return the addresses where something listens; not a byte is sent."""
    every = tuple(dict.fromkeys(addresses))
    progress(f"trying {len(every)} Wi-Fi addresses")
    open_ = await asyncio.gather(*map(_listens, every))
    return tuple(
        FoundPort(
            device=address, description="Wi-Fi, something listens", kind=PortKind.WIFI
        )
        for address, there in zip(every, open_, strict=True)
        if there
    )


async def _listens(address: str) -> bool:
    host, _, port = address.removeprefix("socket://").rstrip("/").rpartition(":")
    try:
        async with asyncio.timeout(WIFI_CONNECT_S):
            _, writer = await asyncio.open_connection(host.strip("[]"), int(port))
    except (OSError, TimeoutError, ValueError):
        return False
    writer.close()
    return True
