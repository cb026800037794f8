"""Bluetooth adapters this computer is paired with (Linux: told by bluetoothctl).

Elsewhere the system makes a serial port of each, which the list of ports has.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

from bridge.link.ports.port_search import FoundPort, PortKind
from bridge.link.ports.rfcomm import need_sockets
from bridge.values.errors import PortError

RADIOS = Path("/sys/class/bluetooth")
SERIAL_PORT = "00001101-0000-1000-8000-00805f9b34fb"
"""The serial port profile (Bluetooth SIG, Assigned Numbers)."""
ANSWER_S = 3.0
_DEVICE = re.compile(r"Device ((?:[0-9A-F]{2}:){5}[0-9A-F]{2}) ?(.*)")

Ask = Callable[..., str]


def paired_ports(radios: Path | None = None) -> tuple[FoundPort, ...]:
    """Return the paired devices with a serial line; () where that is unknown."""
    radios = radios or RADIOS
    tool = shutil.which("bluetoothctl")
    if tool is None or not radios.is_dir() or not any(radios.iterdir()):
        return ()

    def ask(*words: str) -> str:
        return _run(tool, *words)

    return read_paired(ask)


def read_paired(ask: Ask) -> tuple[FoundPort, ...]:
    """Return what bluetoothctl tells; ``ask`` runs one command of it."""
    # Newer ones call the list 'devices Paired', older ones 'paired-devices'.
    listed = ask("devices", "Paired")
    if not _DEVICE.search(listed):
        listed = ask("paired-devices")
    found = dict(_DEVICE.findall(listed))
    problem = _missing()
    return tuple(
        FoundPort(
            device=f"rfcomm://{address}",
            description=f"Bluetooth, {_plain(name)}",
            kind=PortKind.BLUETOOTH,
            problem=problem,
        )
        for address, name in sorted(found.items())
        if SERIAL_PORT in ask("info", address).lower()
    )


def _missing() -> str:
    try:
        need_sockets()
    except PortError as problem:
        return str(problem)
    return ""


def _plain(name: str) -> str:
    return "".join(c for c in name.strip() if c.isprintable()) or "no name"


def _run(*command: str) -> str:
    try:
        ran = subprocess.run(  # noqa: S603 - a fixed program and its own addresses
            command, capture_output=True, timeout=ANSWER_S, check=False
        )
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return ran.stdout.decode("utf-8", "replace")
