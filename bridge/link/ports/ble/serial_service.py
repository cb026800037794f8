"""Which characteristics of a BLE device are a serial line: found by what they offer.

A serial line over GATT is one characteristic that notifies or indicates and one, often
the same, that can be written (Bluetooth Core, vol. 3 part G, 3.3.1.1: properties).
There is no standard service for it; the ids most adapters use only settle the order
in which candidates are tried (seen in public threads).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from bridge.values.frozen import frozen

if TYPE_CHECKING:
    from bleak.backends.characteristic import BleakGATTCharacteristic
    from bleak.backends.service import BleakGATTService

NOTIFY, INDICATE = "notify", "indicate"
WRITE, COMMAND = "write", "write-without-response"
_BASE = "0000{}-0000-1000-8000-00805f9b34fb"
LIKELY = (
    *(_BASE.format(short) for short in ("fff0", "ffe0", "18f0", "ffb0", "ae30")),
    "6e400001-b5a3-f393-e0a9-e50e24dcca9e",
    "49535343-fe7d-4ae5-8fa9-9fafd205e455",
    "e7810a71-73ae-499d-8c15-faa9aef0c3f2",
)
"""Services seen with serial lines behind them; from memory and public threads."""
_NEVER = {
    *(_BASE.format(short) for short in ("1800", "1801", "180a", "180f", "fe59")),
    "00001530-1212-efde-1523-785feabcd123",
    "00010203-0405-0607-0809-0a0b0c0d1912",
    "f000ffc0-0451-4000-b000-000000000000",
    "1d14d6ee-fd63-4fa1-bfa4-8f47b42119f0",
}
"""Standard services, and those that take new firmware (from memory): nothing is ever
written there."""


@frozen
class UartWay:
    """One way of using a device as a serial line."""

    listen: BleakGATTCharacteristic
    write: BleakGATTCharacteristic
    response: bool
    """Whether each write waits for the device's word that it came."""


def ways(services: Iterable[BleakGATTService]) -> tuple[UartWay, ...]:
    """Return every way a device could be a serial line, the likeliest first."""
    usable = [s for s in services if s.uuid.lower() not in _NEVER]
    return tuple(way for s in sorted(usable, key=_rank) for way in _ways_of(s))


def _rank(service: BleakGATTService) -> tuple[int, int]:
    """Known ids first, then the smallest: a serial line needs no more."""
    uuid = service.uuid.lower()
    place = LIKELY.index(uuid) if uuid in LIKELY else len(LIKELY)
    return place, len(service.characteristics)


def _ways_of(service: BleakGATTService) -> Iterator[UartWay]:
    offered = service.characteristics
    listeners = [c for c in offered if {NOTIFY, INDICATE} & set(c.properties)]
    writers = [c for c in offered if {WRITE, COMMAND} & set(c.properties)]
    pairs = [(r, w) for r in listeners for w in writers]
    for listen, write in sorted(pairs, key=_purity):
        for kind in (COMMAND, WRITE):  # without response it goes faster
            if kind in write.properties:
                yield UartWay(listen=listen, write=write, response=kind == WRITE)


def _purity(
    pair: tuple[BleakGATTCharacteristic, BleakGATTCharacteristic],
) -> tuple[bool, bool]:
    """Two that each do one thing come before one that does both, notify before both."""
    listen, write = pair
    both = bool({NOTIFY, INDICATE} & set(write.properties)) and listen is not write
    return both, NOTIFY not in listen.properties


def other_way(way: UartWay) -> UartWay | None:
    """Return the same line written the other way; None: it is not offered."""
    kind = COMMAND if way.response else WRITE
    if kind not in way.write.properties:
        return None
    return UartWay(listen=way.listen, write=way.write, response=not way.response)
