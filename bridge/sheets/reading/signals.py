"""The [[signal]] sections: where each value of the car is found and how it is read."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bridge.protocol.request import IDENTIFIER_BYTES, SIGNAL_SERVICES
from bridge.sheets.keys.keys_level import MOST_DATA
from bridge.sheets.reading.can_ids import Addresses, read_addresses
from bridge.sheets.reading.table import Table, in_words
from bridge.units import Dimension, Linear, QuantityError, linear_to
from bridge.values.sheet import UNIT_OF_ROLE, Role, Signal

_LARGEST = 1e6
_NOT_FLUID: dict[int, str] = {
    0x05: "engine coolant",
    0x0F: "intake air",
    0x46: "ambient air",
    0x5C: "engine oil",
    0x67: "engine coolant",
    0x68: "intake air",
}
"""Standard temperatures (SAE J1979): none of them is the gearbox's fluid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A signal whose data_length may still depend on its neighbours."""

    table: Table
    signal: Signal
    stated_length: int | None

    @property
    def end(self) -> int:
        """Index after the signal's last byte."""
        return self.signal.first_byte + self.signal.length


def read_draft(table: Table) -> Draft:
    """Return one signal as its own section gives it."""
    role = Role(table.choice("role", tuple(Role)))
    pgn = _group(table)
    service, identifier = (0, 0) if pgn is not None else _question(table, role)
    addresses = (
        Addresses(reply=_source(table))
        if pgn is not None
        else read_addresses(table, service)
    )
    length = table.whole("length", 1, 4, 1)
    signed = table.flag("signed", default=False)
    factor, offset = _scale(table, role)
    signal = Signal(
        role=role,
        service=service,
        identifier=identifier,
        request_id=addresses.request,
        reply_id=addresses.reply,
        pgn=pgn,
        first_byte=table.whole("first_byte", 0, MOST_DATA - 1, 0),
        length=length,
        signed=signed,
        byte_order=table.choice("byte_order", ("big", "little"), "big"),
        factor=factor,
        offset=offset,
        not_available=_raw_values(table, length, signed=signed),
        minimum=_limit(table, "minimum", role),
        maximum=_limit(table, "maximum", role),
        labels=_labels(table, role, length, signed=signed),
    )
    _check_limits(table, signal)
    return Draft(table=table, signal=signal, stated_length=_stated_length(table))


def _stated_length(table: Table) -> int | None:
    if not table.has("data_length"):
        return None
    return table.whole("data_length", 1, MOST_DATA)


def reach(signal: Signal) -> tuple[float, float]:
    """Return the lowest and highest value the signal can give, in its role's unit."""
    low, high = _raw_range(signal.length, signed=signal.signed)
    ends = sorted(raw * signal.factor + signal.offset for raw in (low, high))
    lowest = ends[0] if signal.minimum is None else max(ends[0], signal.minimum)
    highest = ends[1] if signal.maximum is None else min(ends[1], signal.maximum)
    return lowest, highest


def with_data_length(draft: Draft, data_length: int) -> Signal:
    """Return the finished signal."""
    return replace(draft.signal, data_length=data_length)


_GROUP_BYTES = 8
_ASKED_KEYS = ("service", "identifier", "request_id", "reply_id")


def _group(table: Table) -> int | None:
    """Return the J1939 group that carries a signal, or None if it is asked for."""
    if not table.has("pgn"):
        if table.has("source"):
            raise table.mistake(
                "source", "belongs to a J1939 group; add its pgn or take it out"
            )
        return None
    for key in _ASKED_KEYS:
        if table.has(key):
            raise table.mistake(
                key,
                "has no meaning beside pgn, for a J1939 group is listened for and "
                "not asked for; take it out",
            )
    if not table.has("data_length") or table.entries["data_length"] != _GROUP_BYTES:
        raise table.mistake(
            "data_length", f"must be {_GROUP_BYTES} for a J1939 group; write it so"
        )
    return table.whole("pgn", 0xF000, 0xFFFF)


def _source(table: Table) -> int | None:
    return table.whole("source", 0, 253) if table.has("source") else None


def _question(table: Table, role: Role) -> tuple[int, int]:
    """Return service and identifier: never a writing one, nor coolant as fluid."""
    service = _service(table)
    identifier = _identifier(table, service)
    standard = _NOT_FLUID.get(_standard_pid(service, identifier))
    if role is Role.FLUID_TEMPERATURE and standard is not None:
        raise table.mistake(
            "identifier",
            f"is the temperature of {standard} (SAE J1979), which is not the "
            f"gearbox's fluid; write the gearbox's own identifier",
        )
    return service, identifier


def _service(table: Table) -> int:
    service = table.integer("service")
    if service in SIGNAL_SERVICES:
        return service
    if service in (21, 22):
        raise table.mistake(
            "service",
            f"is {service} without its 0x, which is {_hex(service)}; write 0x{service}",
        )
    raise table.mistake(
        "service",
        f"is {_hex(service)}, which is not a reading service, and sumpgate only "
        f"reads; write 0x01, 0x21 or 0x22",
    )


def _identifier(table: Table, service: int) -> int:
    identifier = table.integer("identifier")
    width = IDENTIFIER_BYTES[service]
    if not 0 <= identifier < 256**width:
        raise table.mistake(
            "identifier",
            f"is {_hex(identifier)}, but service {_hex(service)} has {width} byte(s) "
            f"for it; write a number from 0x00 to 0x{256**width - 1:X}",
        )
    return identifier


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


def _scale(table: Table, role: Role) -> Linear:
    """Return factor and offset towards the role's own unit."""
    factor = table.number("factor", -_LARGEST, _LARGEST, 1.0)
    offset = table.number("offset", -_LARGEST, _LARGEST, 0.0)
    if abs(factor) < 1 / _LARGEST:
        raise table.mistake(
            "factor",
            "is zero or as good as zero; write what one step of the raw value is worth",
        )
    unit_factor, unit_offset = _unit(table, role)
    return factor * unit_factor, offset * unit_factor + unit_offset


def _unit(table: Table, role: Role) -> Linear:
    own = UNIT_OF_ROLE[role]
    if not own:
        if table.has("unit") and table.entries["unit"] != "":
            raise table.mistake("unit", f"has no meaning for a {role}; take it out")
        return 1.0, 0.0
    unit = table.text("unit")
    try:
        return linear_to(unit, Dimension(own))
    except QuantityError as error:
        raise table.mistake("unit", f"does not suit {role}: {error}") from None


def _limit(table: Table, key: str, role: Role) -> float | None:
    if not table.has(key):
        return None
    if not UNIT_OF_ROLE[role]:
        raise table.mistake(key, f"has no meaning for a {role}; take it out")
    return table.quantity(key, Dimension(UNIT_OF_ROLE[role]))


def _check_limits(table: Table, signal: Signal) -> None:
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


def _raw_values(table: Table, length: int, *, signed: bool) -> tuple[int, ...]:
    values = tuple(
        _raw(table, "not_available", value, length, signed=signed)
        for value in table.items("not_available")
    )
    if len(set(values)) < len(values):
        raise table.mistake("not_available", "names a value twice; write each one once")
    return values


def _raw(table: Table, key: str, value: int, length: int, *, signed: bool) -> int:
    """Return a raw value as it is read; a signed one may be written unsigned too."""
    low, high = _raw_range(length, signed=signed)
    if not low <= value < 256**length:
        raise table.mistake(
            key,
            f"has {_hex(value)} in it, which {length} byte(s) cannot hold; "
            f"write values from {low} to 0x{256**length - 1:X}",
        )
    return value if value <= high else value - 256**length


def _labels(
    table: Table, role: Role, length: int, *, signed: bool
) -> tuple[tuple[int, str], ...]:
    if not table.has("labels"):
        return ()
    value = table.entries["labels"]
    if role is not Role.SELECTOR:
        raise table.mistake("labels", "are for the selector only; take them out")
    if not isinstance(value, dict) or not value:
        raise table.refuse("labels", "a table of raw values and positions")
    labels = tuple(
        (
            _raw(table, "labels", _number(table, key), length, signed=signed),
            _label(table, text),
        )
        for key, text in value.items()
    )
    if len({raw for raw, _ in labels}) < len(labels):
        raise table.mistake("labels", "name a raw value twice; write each one once")
    return labels


def _number(table: Table, key: str) -> int:
    try:
        return int(key[:12], 0)
    except ValueError:
        raise table.mistake(
            "labels",
            f"have {in_words(key)} where a raw value belongs; write "
            f'them like {{ "0" = "P" }}',
        ) from None


def _label(table: Table, text: object) -> str:
    if isinstance(text, str) and 0 < len(text.strip()) <= 12 and text.isprintable():
        return text.strip()
    raise table.mistake(
        "labels",
        f"have {in_words(text)} where a position belongs; write a short text such as "
        f'"P" or "D"',
    )
