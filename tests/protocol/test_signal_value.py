"""Raw values of a J1939 parameter that are no measurement.

SAE J1939-71 (transmitted signal ranges): 00 to FA hex is the valid signal of one byte,
FB an indicator, FC and FD reserved, FE an error, FF not available; of two bytes the
same by the high byte. check-values.md; from memory.
"""

from __future__ import annotations

import pytest

from bridge.protocol.signal_value import read_signal
from bridge.values.readings import Fault, FaultKind, Reading
from bridge.values.sheet import Role, Signal


def read(code: int, length: int, pgn: int | None) -> Reading | Fault:
    signal = Signal(
        role=Role.FLUID_TEMPERATURE,
        pgn=pgn,
        length=length,
        byte_order="little",
        factor=1.0 / 256 ** (length - 1),
        offset=-100.0,
    )
    return read_signal(signal, code.to_bytes(length, "little"), t_s=0.0, raw=b"")


@pytest.mark.parametrize("top", range(0xFB, 0x100))
@pytest.mark.parametrize("length", [1, 2])
def test_what_lies_above_fa_is_no_measurement(top: int, length: int) -> None:
    told = read(top << 8 * (length - 1), length, 65272)
    assert isinstance(told, Fault)
    assert told.kind is FaultKind.NOT_AVAILABLE
    # asked for by a service, the byte is what the sheet makes of it
    assert isinstance(read(top << 8 * (length - 1), length, None), Reading)


@pytest.mark.parametrize(("code", "length"), [(0xFA, 1), (0xFAFF, 2)])
def test_fa_is_the_last_valid_value(code: int, length: int) -> None:
    assert isinstance(read(code, length, 65272), Reading)
