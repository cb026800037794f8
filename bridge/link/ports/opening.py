"""Opening a port by its name: a device, COMn, socket://, rfcomm:// or ble://."""

from __future__ import annotations

import asyncio
import re

from bridge.link.ports.ble.ble_port import BleDoor
from bridge.link.ports.ble.scan import need_bleak
from bridge.link.ports.port import Port
from bridge.link.ports.port_search import find_again
from bridge.link.ports.remedies import remedy
from bridge.link.ports.rfcomm import need_sockets, open_rfcomm, place_of
from bridge.link.ports.serial_port import open_serial
from bridge.link.ports.wire_log import Opener
from bridge.values.errors import PortError

BLE, RFCOMM_SOCKET = "ble://", "rfcomm://"
_ADDRESS = re.compile(r"socket://(?:\[[0-9A-Fa-f:.]+\]|[^/:\s]+):(\d{1,5})/?")


def make_opener(name: str, baud: int, *, identity: str = "") -> Opener:
    """Return what opens the port, as often as it is wanted.

    ``identity``: what tells a USB adapter from others; it is then found again under
    whatever name it comes back as.

    Raises:
        PortError: one sentence: the name can be none, or something is missing here.
    """
    check_name(name)
    if name.startswith(BLE):
        return BleDoor(name.removeprefix(BLE)).open

    async def open_it() -> Port:
        if name.startswith(RFCOMM_SOCKET):
            return await open_rfcomm(name)
        return await _open_serial(name, baud, identity)

    return open_it


async def open_port(name: str, baud: int) -> Port:
    """Open a port once.

    Raises:
        PortError: one sentence with the port and the remedy.
    """
    return await make_opener(name, baud)()


async def _open_serial(name: str, baud: int, identity: str) -> Port:
    if identity:
        name = await asyncio.to_thread(find_again, name, identity)
    try:
        return await open_serial(name, baud)
    except Exception as problem:
        raise PortError(
            f"cannot open port {name}: {remedy(problem, name)}"
        ) from problem


def check_name(name: str) -> None:
    """Refuse a port name that can be none, or needs what is not there.

    Raises:
        PortError: one sentence with the remedy.
    """
    if name.startswith(BLE):
        if not name.removeprefix(BLE).strip():
            raise PortError(
                "'ble://' names nobody: write ble://NAME or ble://ADDRESS "
                "('sumpgate ports --ble' shows what is heard)"
            )
        need_bleak()
    elif name.startswith(RFCOMM_SOCKET):
        place_of(name)
        need_sockets()
    elif "://" in name:
        _check_network(name)


def _check_network(name: str) -> None:
    found = _ADDRESS.fullmatch(name)
    if found is None or int(found[1]) > 65535:
        raise PortError(
            f"{name!r} is no address of an adapter: write socket://host:port, "
            "such as socket://192.168.0.10:35000, rfcomm://ADDRESS or ble://NAME"
        )
