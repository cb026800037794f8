"""The [[signal]] sections: where each value of the car is found and how it is read."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from bridge.protocol.reply import GROUP_BYTES
from bridge.protocol.request import IDENTIFIER_BYTES, SIGNAL_SERVICES
from bridge.sheets.reading.can_ids import read_addresses
from bridge.sheets.reading.findings import Findings, SectionRead
from bridge.sheets.reading.table import SheetTable, in_words
from bridge.sheets.reading.values import quantity_in
from bridge.units import Dimension, QuantityError, linear_to
from bridge.values.frozen import frozen
from bridge.values.sheet import UNIT_OF_ROLE, Role, Signal

Fields = dict[str, Any]
Part = Callable[[SectionRead], Fields]
_LARGEST = 1e6
RAW_NUMBER = r"-?[0-9]{1,10}|0[xX][0-9A-Fa-f]{1,8}"
"""How labels write a raw value: decimal, or hexadecimal with its 0x."""
_NOT_FLUID: dict[int, str] = {
    0x05: "engine coolant",
    0x0F: "intake air",
    0x46: "ambient air",
    0x5C: "engine oil",
    0x67: "engine coolant",
    0x68: "intake air",
}
"""Standard temperatures (SAE J1979): none of them is the gearbox's fluid."""


@frozen
class SignalDraft:
    """A signal whose data_length may still depend on its neighbours."""

    table: SheetTable
    signal: Signal
    stated_length: int | None

    @property
    def end(self) -> int:
        """Index after the signal's last byte."""
        return self.signal.first_byte + self.signal.length


def read_draft(section: SectionRead, found: Findings) -> SignalDraft | None:
    """Return one signal as its own section gives it; None after a mistake in it."""
    parts = [found.attempt(partial(part, section)) for part in _PARTS]
    if not found.clean(section.table.path):
        return None
    fields = section.fields(Signal)
    for part in parts:
        fields |= part or {}
    signal = Signal(**fields)
    found.attempt(partial(_check_limits, section.table, signal))
    return SignalDraft(
        table=section.table, signal=signal, stated_length=section.get("data_length")
    )


def reach(signal: Signal) -> tuple[float, float]:
    """Return the lowest and highest value the signal can give, in its role's unit."""
    low, high = _raw_range(signal.length, signed=signal.signed)
    ends = sorted(raw * signal.factor + signal.offset for raw in (low, high))
    lowest = ends[0] if signal.minimum is None else max(ends[0], signal.minimum)
    highest = ends[1] if signal.maximum is None else min(ends[1], signal.maximum)
    return lowest, highest


def with_data_length(draft: SignalDraft, data_length: int) -> Signal:
    """Return the finished signal."""
    return replace(draft.signal, data_length=data_length)


_ASKED_KEYS = ("service", "identifier", "request_id", "reply_id")


def _group(section: SectionRead) -> Fields:
    """Return the source of a J1939 group; whatever asks has no place beside one."""
    if not section.has("pgn"):
        if section.has("source"):
            raise section.table.mistake(
                "source", "belongs to a J1939 group; add its pgn or take it out"
            )
        return {}
    for key in _ASKED_KEYS:
        if section.has(key):
            raise section.table.mistake(
                key,
                "has no meaning beside pgn, for a J1939 group is listened for and "
                "not asked for; take it out",
            )
    return {"reply_id": section.get("source")}


def _group_length(section: SectionRead) -> Fields:
    if section.has("pgn") and section.table.entries.get("data_length") != GROUP_BYTES:
        raise section.table.mistake(
            "data_length", f"must be {GROUP_BYTES} for a J1939 group; write it so"
        )
    return {}


def _service(section: SectionRead) -> Fields:
    """Return the service: one that reads, never one that writes."""
    if section.has("pgn"):
        return {}
    if not section.has("service"):
        raise section.table.missing("service")
    service = section.get("service")
    if service is None or service in SIGNAL_SERVICES:
        return {"service": service}
    if service in (21, 22):
        raise section.table.mistake(
            "service",
            f"is {service} without its 0x, which is {_hex(service)}; write 0x{service}",
        )
    raise section.table.mistake(
        "service",
        f"is {_hex(service)}, which is not a reading service, and sumpgate only "
        f"reads; write 0x01, 0x21 or 0x22",
    )


def _identifier(section: SectionRead) -> Fields:
    """Return the identifier: one that the service can have, and never coolant's."""
    if section.has("pgn"):
        return {}
    if not section.has("identifier"):
        raise section.table.missing("identifier")
    service, identifier = section.get("service"), section.get("identifier")
    if service not in SIGNAL_SERVICES or identifier is None:
        return {}
    width = IDENTIFIER_BYTES[service]
    if identifier >= 256**width:
        raise section.table.mistake(
            "identifier",
            f"is {_hex(identifier)}, but service {_hex(service)} has {width} byte(s) "
            f"for it; write a number from 0x00 to 0x{256**width - 1:X}",
        )
    standard = _NOT_FLUID.get(_standard_pid(service, identifier))
    if section.get("role") == Role.FLUID_TEMPERATURE and standard is not None:
        raise section.table.mistake(
            "identifier",
            f"is the temperature of {standard} (SAE J1979), which is not the "
            f"gearbox's fluid; write the gearbox's own identifier",
        )
    return {"identifier": identifier}


def _ids(section: SectionRead) -> Fields:
    """Return both ids; those that are wrong by themselves were told already."""
    service = section.get("service")
    wrong = [k for k in _ASKED_KEYS[2:] if section.has(k) and section.get(k) is None]
    if section.has("pgn") or wrong or service not in SIGNAL_SERVICES:
        return {}
    addresses = read_addresses(section, service)
    return {"request_id": addresses.request, "reply_id": addresses.reply}


def _hex(value: int) -> str:
    return f"0x{value:02X}" if 0 <= value < 1 << 64 else in_words(value)


def _standard_pid(service: int, identifier: int) -> int:
    """Return the standard PID asked for, or -1.

    ISO 14229-1, table C.1: identifiers F400 to F4FF of service 0x22 mirror the PIDs.
    """
    if service == 0x01:
        return identifier
    mirrors = service == 0x22 and identifier >> 8 == 0xF4
    return identifier & 0xFF if mirrors else -1


def _factor(section: SectionRead) -> Fields:
    factor = section.get("factor")
    if factor is not None and abs(factor) < 1 / _LARGEST:
        raise section.table.mistake(
            "factor",
            "is zero or as good as zero; write what one step of the raw value is worth",
        )
    return {}


def _scale(section: SectionRead) -> Fields:
    """Return factor and offset towards the role's own unit."""
    own = UNIT_OF_ROLE.get(section.get("role"))
    if own == "":
        return _unitless(section)
    if not section.has("unit"):
        raise section.table.missing("unit")
    unit = section.get("unit")
    if own is None or unit is None:
        return {}
    try:
        by, plus = linear_to(unit, Dimension(own))
    except QuantityError as error:
        role = section.get("role")
        raise section.table.mistake("unit", f"does not suit {role}: {error}") from None
    factor, offset = section.held("factor"), section.held("offset")
    if factor is None or offset is None:
        return {}
    return {"factor": factor * by, "offset": offset * by + plus}


def _unitless(section: SectionRead) -> Fields:
    for key in ("unit", "minimum", "maximum"):
        if section.has(key):
            role = section.get("role")
            raise section.table.mistake(
                key, f"has no meaning for a {role}; take it out"
            )
    return {}


def _accuracy(section: SectionRead) -> Fields:
    role = section.get("role")
    if section.has("accuracy") and UNIT_OF_ROLE.get(role, "degC") != "degC":
        raise section.table.mistake(
            "accuracy", f"is for temperatures, not for a {role}; take it out"
        )
    return {}


def _limit(key: str) -> Part:
    def read(section: SectionRead) -> Fields:
        unit, written = UNIT_OF_ROLE.get(section.get("role")), section.get(key)
        if not unit or written is None:
            return {}
        return {key: quantity_in(section.table, key, written, Dimension(unit))}

    return read


def _check_limits(table: SheetTable, signal: Signal) -> None:
    lowest, highest = reach(signal)
    if lowest < highest:
        return
    key = "maximum" if table.has("maximum") else "minimum"
    raise table.mistake(
        key,
        "leaves no value that the bytes can give; write a minimum below the maximum, "
        "both within what factor and offset allow",
    )


def _raw_range(length: int, *, signed: bool) -> tuple[int, int]:
    size = 256**length
    return (-size // 2, size // 2 - 1) if signed else (0, size - 1)


def _width(section: SectionRead) -> tuple[int, bool] | None:
    """Return bytes and sign of the raw value; None if either is wrong."""
    length, signed = section.held("length"), section.held("signed")
    return None if length is None or signed is None else (length, signed)


def _not_available(section: SectionRead) -> Fields:
    width = _width(section)
    if width is None:
        return {}
    values = tuple(
        _raw(section.table, "not_available", value, *width)
        for value in section.get("not_available") or ()
    )
    if len(set(values)) < len(values):
        raise section.table.mistake(
            "not_available", "names a value twice; write each one once"
        )
    return {"not_available": values}


def _raw(table: SheetTable, key: str, value: int, length: int, signed: bool) -> int:  # noqa: FBT001
    """Return a raw value as it is read; a signed one may be written unsigned too."""
    low, high = _raw_range(length, signed=signed)
    if not low <= value < 256**length:
        raise table.mistake(
            key,
            f"has {_hex(value)} in it, which {length} byte(s) cannot hold; "
            f"write values from {low} to 0x{256**length - 1:X}",
        )
    return value if value <= high else value - 256**length


def _labels(section: SectionRead) -> Fields:
    said, width, table = section.get("labels"), _width(section), section.table
    if said is None or width is None or section.get("role") is None:
        return {}
    if section.get("role") != Role.SELECTOR:
        raise table.mistake("labels", "are for the selector only; take them out")
    labels = tuple(
        (_raw(table, "labels", _number(table, key), *width), text)
        for key, text in said.items()
    )
    if len({raw for raw, _ in labels}) < len(labels):
        raise table.mistake("labels", "name a raw value twice; write each one once")
    return {"labels": labels}


def _number(table: SheetTable, key: str) -> int:
    if re.fullmatch(RAW_NUMBER, key) is None:
        raise table.mistake(
            "labels",
            f"have {in_words(key)} where a raw value belongs; write "
            f'them like {{ "0" = "P" }}',
        )
    return int(key, 16 if "x" in key.lower() else 10)


_PARTS: tuple[Part, ...] = (
    _group,
    _group_length,
    _service,
    _identifier,
    _ids,
    _factor,
    _scale,
    _accuracy,
    _not_available,
    _limit("minimum"),
    _limit("maximum"),
    _labels,
)
"""What is read beyond single keys; none minds another's mistake."""
