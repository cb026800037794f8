"""Standard PIDs by python-OBD's command table and decoders (SAE J1979).

Only the table and the decoders are used, on payloads that bridge.protocol.reply has
already checked: python-OBD itself checks neither echo nor length. Importing it
takes about 0.3 s and hangs a handler on stderr that would write over the screen,
so it happens on first use, and the handler goes.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from functools import cache
from typing import Any

from bridge.protocol.signal_value import in_range
from bridge.values.readings import Fault, FaultKind, Reading
from bridge.values.sheet import UNIT_OF_ROLE, Role, Signal

STANDARD_PIDS: dict[Role, int] = {
    Role.COOLANT_TEMPERATURE: 0x05,
    Role.ENGINE_SPEED: 0x0C,
    Role.VEHICLE_SPEED: 0x0D,
    Role.ENGINE_RUN_TIME: 0x1F,
    Role.MODULE_VOLTAGE: 0x42,
    Role.AMBIENT_TEMPERATURE: 0x46,
}
"""The PID of service 0x01 that carries each role (SAE J1979)."""


@dataclass(slots=True)
class _Message:
    """What python-OBD's decoders look at."""

    data: bytearray


@cache
def _command_table() -> Any:
    import obd  # noqa: TID251 - the one place; late, see the module's docstring

    logger = logging.getLogger("obd")
    for handler in list(logger.handlers):
        logger.removeHandler(handler)
    logger.addHandler(logging.NullHandler())
    return obd.commands


def standard_signal(role: Role) -> Signal:
    """Return where a standard PID is found; its length is python-OBD's table's."""
    pid = STANDARD_PIDS[role]
    length = int(_command_table()[1][pid].bytes) - 2
    return Signal(
        role=role, service=0x01, identifier=pid, length=length, data_length=length
    )


def read_standard(signal: Signal, payload: bytes, *, t_s: float) -> Reading | Fault:
    """Return the reading of a checked service 0x01 payload (echo included)."""
    decoder = _command_table()[1][signal.identifier].decode
    quantity = decoder([_Message(bytearray(payload))])
    if quantity is None:
        return Fault(
            kind=FaultKind.BAD_REPLY, t_s=t_s, role=signal.role, detail="not decodable"
        )
    unit = {"degC": "celsius", "km/h": "kph", "s": "second", "V": "volt"}.get(
        UNIT_OF_ROLE[signal.role], UNIT_OF_ROLE[signal.role]
    )
    value = float(quantity.to(unit).magnitude)
    return in_range(signal, value, t_s=t_s, raw=payload)


def supported_pids(payload: bytes) -> frozenset[int]:
    """Return the PIDs a checked 00/20/40 bitmap names: bit 7 of A is base + 1."""
    base, bits = payload[1], int.from_bytes(payload[2:6], "big")
    return frozenset(base + n + 1 for n in range(32) if bits >> (31 - n) & 1)
