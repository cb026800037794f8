"""The command line of `sumpgate ports`."""

from __future__ import annotations

from typing import Any

PORT_HELP = (
    "device, COMn, socket://host:port, rfcomm://ADDRESS or ble://NAME; default: the "
    "one of last time, else those found are tried ('sumpgate ports' shows them)"
)


def add_ports_verb(verbs: Any) -> None:
    """Add `ports`."""
    ports = verbs.add_parser("ports", help="what could be an adapter here")
    ports.add_argument(
        "--ble", action="store_true", help="listen for Bluetooth Low Energy devices too"
    )
    ports.add_argument(
        "--wifi", action="store_true", help="try the usual Wi-Fi addresses too"
    )
    ports.add_argument("--json", action="store_true", help="one JSON object")
