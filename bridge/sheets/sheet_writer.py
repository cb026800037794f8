"""Writing a found signal, and what confirms it, into a sheet's text.

Only the fluid's [[signal]], [found] and [[confirmed]] are touched; every other line,
comments and all, stays as the person wrote it. The result is read back before it is
handed out, so what comes out can be loaded.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable

from bridge.level.found_signal import spell
from bridge.sheets.reading.assemble import parse_sheet
from bridge.sheets.reading.can_ids import spell as spell_id
from bridge.values.errors import SheetError
from bridge.values.found import Checkpoint, Found
from bridge.values.sheet import (
    Role,
    Signal,
)

_HEADER = re.compile(r"\s*\[\[?\s*([A-Za-z0-9_.-]+)\s*\]?\]\s*(?:#.*)?$")
_OURS = ("found", "confirmed")


def signal_lines(signal: Signal, note: str = "") -> list[str]:
    """Return a fluid signal as the lines of its [[signal]] section."""
    lines = [f"# {note}"] if note else []
    width = 2 if signal.service == 0x21 else 4
    lines += [
        "[[signal]]",
        'role = "fluid-temperature"',
        f'request_id = "{spell_id(signal.request_id or 0)}"',
        f'reply_id = "{spell_id(signal.reply_id or 0)}"',
        f"service = 0x{signal.service:02X}",
        f"identifier = 0x{signal.identifier:0{width}X}",
        f"first_byte = {signal.first_byte}",
        f"length = {signal.length}",
        f"data_length = {signal.data_length}",
        f"signed = {str(signal.signed).lower()}",
        f'byte_order = "{signal.byte_order}"',
        f"factor = {float(signal.factor)!r}",
        f"offset = {float(signal.offset)!r}",
        'unit = "degC"',
    ]
    limits = (("minimum", signal.minimum), ("maximum", signal.maximum))
    lines += [f'{k} = "{v:g} degC"' for k, v in limits if v is not None]
    return lines


def found_lines(found: Found) -> list[str]:
    """Return the [found] section and one [[confirmed]] for each comparison."""
    lines = [
        "# The signal was found by search. Until a thermometer has borne it out at two",
        "# temperatures, the gate stays at NO-GO. Written by sumpgate find.",
        "[found]",
        f"when = {_text(found.when)}",
        f"how = {_text(found.how)}",
        f"signal = {_text(found.signal)}",
    ]
    for check in found.checkpoints:
        lines += ["", *_checkpoint_lines(check)]
    return lines


def _checkpoint_lines(check: Checkpoint) -> list[str]:
    lines = [
        "[[confirmed]]",
        f"when = {_text(check.when)}",
        f'thermometer = "{check.thermometer_c:.2f} degC"',
        f'signal = "{check.signal_c:.2f} degC"',
    ]
    if check.coolant_c is not None:
        lines.append(f'coolant = "{check.coolant_c:.2f} degC"')
    return [*lines, f"accuracy = {float(check.accuracy_c)!r}"]


def _text(value: str) -> str:
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'


def with_signal(text: str, name: str, signal: Signal, found: Found) -> str:
    """Return a sheet's text with this fluid signal in the place of any it had.

    Raises:
        SheetError: the text is no sheet, or the signal does not suit it.
    """
    found = Found(
        when=found.when,
        how=found.how,
        signal=spell(signal),
        checkpoints=found.checkpoints,
    )
    kept = _without(text, lambda block: _is_fluid(block) or _is_ours(block))
    new = [*signal_lines(signal), "", *found_lines(found)]
    return _checked(text, _joined(kept, new), name)


def with_found(text: str, name: str, found: Found) -> str:
    """Return a sheet's text with other words on how its signal was confirmed.

    Raises:
        SheetError: the text is no sheet.
    """
    return _checked(text, _joined(_without(text, _is_ours), found_lines(found)), name)


def fresh_sheet(name: str, window: tuple[str, str], source: str) -> str:
    """Return the least a sheet must hold, for a signal to be added to."""
    return (
        "# profiles/README.md explains every key.\n\n[gearbox]\n"
        f"name = {_text(name)}\nsource = {_text(source)}\n\n[level]\n"
        f"window = [{_text(window[0])}, {_text(window[1])}]\n"
    )


def _joined(kept: str, new: list[str]) -> str:
    return kept.rstrip("\n") + "\n\n" + "\n".join(new) + "\n"


def _blocks(text: str) -> list[list[str]]:
    """Return the lines, a new block at each section's heading.

    Comments and blank lines right above a heading belong to it.
    """
    blocks: list[list[str]] = [[]]
    for line in text.split("\n"):
        if _HEADER.match(line):
            lead: list[str] = []
            while blocks[-1] and _is_lead(blocks[-1][-1]):
                lead.insert(0, blocks[-1].pop())
            blocks.append(lead)
        blocks[-1].append(line)
    return blocks


def _is_lead(line: str) -> bool:
    return not line.strip() or line.lstrip().startswith("#")


def _without(text: str, unwanted: Callable[[list[str]], bool]) -> str:
    """Drop sections; a person's comment above one stays, ours goes with it."""
    kept: list[str] = []
    for block in _blocks(text):
        if not unwanted(block):
            kept += block
        elif not _is_ours(block):
            kept += _lead_of(block)
    return "\n".join(kept)


def _lead_of(block: list[str]) -> list[str]:
    lead: list[str] = []
    for line in block:
        if not _is_lead(line):
            break
        lead.append(line)
    return lead if any(line.strip() for line in lead) else []


def _heading(block: list[str]) -> str:
    names = [m[1] for line in block if (m := _HEADER.match(line))]
    return names[0] if names else ""


def _is_ours(block: list[str]) -> bool:
    return _heading(block) in _OURS


def _is_fluid(block: list[str]) -> bool:
    if _heading(block) != "signal":
        return False
    try:
        sections = tomllib.loads("\n".join(block)).get("signal", [{}])
    except tomllib.TOMLDecodeError:
        return False
    return any(s.get("role") == Role.FLUID_TEMPERATURE.value for s in sections)


def _checked(before: str, after: str, name: str) -> str:
    """Return the new text if it is a sheet and nothing else in it has changed."""
    parse_sheet(after, name)
    if _rest(before) != _rest(after):
        raise SheetError(
            f"{name} is laid out in a way sumpgate find cannot add to without touching "
            "the rest; put the lines it shows in by hand."
        )
    return after


def _rest(text: str) -> dict[str, object]:
    tables = tomllib.loads(text)
    fluid = Role.FLUID_TEMPERATURE.value
    signals = [s for s in tables.get("signal", []) if s.get("role") != fluid]
    rest = {k: v for k, v in tables.items() if k not in (*_OURS, "signal")}
    return {**rest, "signal": signals}
