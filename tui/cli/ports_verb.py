"""`sumpgate ports`: what could be an adapter here, and what keeps it from use."""

from __future__ import annotations

import asyncio
import json
import sys
from argparse import Namespace
from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING, Any

from bridge.values.errors import PortError
from tui.settings import load_settings

if TYPE_CHECKING:
    from bridge.link.ports.port_search import FoundPort
    from tui.settings import Settings

NONE_CODE = 3
BLE_S = 6.0
"""How long BLE devices are listened for."""


def run(args: Namespace) -> int:
    """List the ports, the ones that can be used first; 3 if there is none of use."""
    from bridge.link.ports.progress import telling

    settings = load_settings()
    with telling(_say):
        found, notes = _look(args, settings)
    found.sort(key=lambda port: (bool(port.problem), port.kind))
    if args.json:
        print(json.dumps(as_dict(found, notes, settings), ensure_ascii=False))
    else:
        for line in report(found, settings):
            print(line)
    for note in notes:
        _say(note)
    return 0 if any(not port.problem for port in found) else NONE_CODE


def _look(args: Namespace, settings: Settings) -> tuple[list[FoundPort], list[str]]:
    from bridge.link.ports.paired import paired_ports
    from bridge.link.ports.port_search import USUAL_WIFI, find_ports, wifi_ports

    found, notes = [*find_ports(), *paired_ports()], []
    last = (settings.port,) if settings.port.startswith("socket://") else ()
    steps: list[Callable[[], Awaitable[tuple[FoundPort, ...]]]] = []
    if args.wifi:
        steps.append(lambda: wifi_ports((*last, *USUAL_WIFI)))
    if args.ble:
        steps.append(_heard)
    for step in steps:
        try:
            found += asyncio.run(_whole(step))
        except PortError as problem:
            notes.append(str(problem))
    if not found:
        notes.append(_nothing(args))
    return found, notes


async def _whole(
    step: Callable[[], Awaitable[tuple[FoundPort, ...]]],
) -> tuple[FoundPort, ...]:
    return await step()


async def _heard() -> tuple[FoundPort, ...]:
    """Return the BLE devices with a name, those that may be an adapter first."""
    from bridge.link.ports.ble.scan import listen
    from bridge.link.ports.port_search import FoundPort, PortKind

    heard = sorted(await listen(BLE_S), key=lambda h: not h.likely)
    nameless = sum(not (h.name or h.likely) for h in heard)
    if nameless:
        _say(f"{nameless} BLE devices without a name are left out")
    return tuple(
        FoundPort(
            device=f"ble://{h.address}",
            description=f"BLE, {h.name or 'no name'}"
            + (f", {h.signal_dbm} dBm" if h.signal_dbm is not None else "")
            + (", tells of a serial line" if h.likely else ""),
            kind=PortKind.BLE,
        )
        for h in heard
        if h.name or h.likely
    )


def _nothing(args: Namespace) -> str:
    more = [flag for flag in ("ble", "wifi") if not getattr(args, flag)]
    look = " or ".join(f"--{flag}" for flag in more)
    further = f", or look further with {look}" if look else ""
    return f"nothing here could be an adapter: plug it in or pair it{further}"


def report(found: list[FoundPort], settings: Settings) -> list[str]:
    """Return one line a port: its name for --port, what it is, what to do."""
    wide = max((len(port.device) for port in found), default=0)
    what = max((len(port.description) for port in found), default=0)
    return [
        f"{port.device:{wide}}  {port.description:{what}}  {_state(port)}"
        + (" (used last time)" if is_last(port, settings) else "")
        for port in found
    ]


def _state(port: FoundPort) -> str:
    if port.problem:
        return f"cannot be used: {port.problem}"
    return "can be opened" if can_tell_opening(port) else "not tried"


def can_tell_opening(port: FoundPort) -> bool:
    """Return whether the system tells beforehand if a port can be opened."""
    return port.device.startswith("/dev/") and sys.platform == "linux"


def is_last(port: FoundPort, settings: Settings) -> bool:
    """Return whether a port is the one of last time."""
    if settings.port_id and port.identity:
        return port.identity == settings.port_id
    return port.device == settings.port


def as_dict(
    found: list[FoundPort], notes: list[str], settings: Settings
) -> dict[str, Any]:
    """Return the list under documented keys; null: not known before it is tried."""
    return {
        "ports": [
            {
                "port": port.device,
                "kind": port.kind.value,
                "description": port.description,
                "identity": port.identity or None,
                "can_be_opened": _can(port),
                "problem": port.problem or None,
                "used_last_time": is_last(port, settings),
            }
            for port in found
        ],
        "notes": notes,
    }


def _can(port: FoundPort) -> bool | None:
    if port.problem:
        return False
    return True if can_tell_opening(port) else None


def _say(what: str) -> None:
    sys.stderr.write(f"sumpgate: {what}\n")
    sys.stderr.flush()
