"""A sheet as a person reads it, in that person's units. Pure: text out, no terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from functools import partial

from bridge.level.settling.outflow import Basis, drops, settle_of
from bridge.service.fastening import line_of, stages_words, tube_lift
from bridge.service.log import circuits_of, said_of
from bridge.sheets.reading.can_ids import spell
from bridge.units import (
    Units,
    show_area,
    show_distance,
    show_duration,
    show_length,
    show_temperature,
    show_temperature_span,
    show_temperature_step,
    show_torque,
    show_volume,
)
from bridge.units.kinds import MILE_KM
from bridge.values.service_sheet import Drain, Fastener, Part, Service, StepKind
from bridge.values.sheet import (
    UNIT_OF_ROLE,
    EngineRule,
    Leg,
    LevelMethod,
    Role,
    Sheet,
    Signal,
    Window,
)
from tui.words import figures, wording

_LABEL = 18
_NOT_STATED = {
    Basis.STATED: "",
    Basis.RECKONED: ", reckoned from the opening: the sheet states none",
    Basis.USUAL: ", reckoned from usual figures: the sheet states none",
}

Rows = Iterator[tuple[str, str]]
"""(label, text); an empty label goes on with the one above."""


def sheet_text(sheet: Sheet, units: Units, width: int = 88) -> str:
    """Return all that a sheet says, wrapped to ``width`` columns."""
    parts = [
        ("Level", _level(sheet, units)),
        *(
            (said_of("Gearbox and fluid", c.name), _gearbox(c.sheet, units))
            for c in circuits_of(sheet, ())
        ),
        ("Which gearbox", _variants(sheet.service)),
        ("Cautions", _numbered(sheet.cautions)),
        ("To have at hand", _parts(sheet.service.parts)),
        ("Plugs and covers", _fasteners(sheet, units)),
        ("Where fluid comes out", _drains(sheet.service.drains, units)),
        ("Selector exercise", _exercise(sheet.service)),
        ("Next service", _interval(sheet.service, units)),
        ("Steps", _steps(sheet)),
        ("Figures from elsewhere", ((f.words, "; ".join(f.of)) for f in sheet.figures)),
        ("Read from the car", _signals(sheet.signals, units)),
    ]
    source = filter(None, (sheet.source, sheet.edition, sheet.page, sheet.dated))
    head = f"{sheet.name}\nFigures from: {', '.join(source)}\n{_status(sheet)}"
    sections = (_section(title, rows, width) for title, rows in parts)
    return head + "".join(section for section in sections if section)


def _status(sheet: Sheet) -> str:
    said = [] if sheet.status is None else [f"Status: {sheet.status.value}"]
    said += [f"entered by {sheet.entered_by}"] if sheet.entered_by else []
    said += [f"checked by {sheet.checked_by}"] if sheet.checked_by else []
    return f"{', '.join(said)}\n" if said else ""


def torque_text(torque_nm: float, tolerance_nm: float | None, units: Units) -> str:
    """Return a torque in N·m and lbf·ft, or in lbf·ft alone for US units."""
    other = show_torque(torque_nm, Units.US, tolerance_nm)
    if units is Units.US:
        return other
    return f"{show_torque(torque_nm, units, tolerance_nm)} ({other})"


def _section(title: str, rows: Rows, width: int) -> str:
    lines = [line for label, text in rows for line in _wrapped(label, text, width)]
    return "\n".join(["", title.upper(), *lines, ""]) if lines else ""


def _wrapped(label: str, text: str, width: int) -> list[str]:
    indent = " " * (_LABEL + 2)
    first = f"  {label:{_LABEL}}" if len(label) <= _LABEL else f"  {label}  "
    return textwrap.wrap(
        text or " ",
        max(width, 40),
        initial_indent=first,
        subsequent_indent=indent,
        break_long_words=False,
    )


def _level(sheet: Sheet, units: Units) -> Rows:
    if not sheet.has_level_step:
        yield "method", "measured refill: what came out goes in, no level step"
        return
    yield from _way(sheet, units)
    for number, leg in enumerate(sheet.legs, 1):
        lines = [f"{label} {text}" for label, text in _way(leg, units)]
        until = wording.LEG_ENDS[leg.ends]
        lines.insert(0, f"{said_of(leg.name, leg.circuit)}, {until}")
        yield f"phase {number}", "; ".join(lines)
        yield from (("", line) for line in leg.lines)
    for marks in sheet.stick:
        at = show_temperature(marks.temp_c, units)
        ends = (show_length(mm, units) for mm in (marks.low_mm, marks.high_mm))
        yield f"stick at {at}", " to ".join(ends)
    yield from _settles(sheet)
    yield "GO needs", f"{sheet.stay_chance:.0%} chance of staying in the window so long"
    if sheet.tilt_limit_deg is not None:
        yield "lean at most", f"{sheet.tilt_limit_deg:g}°"
    yield "drive", sheet.drive.value
    if wanted := sheet.confirmations:
        yield "to confirm", ", ".join(w.replace("-", " ") for w in wanted)


def _settles(sheet: Sheet) -> Rows:
    settle = settle_of(sheet)
    yield "settle time", show_duration(settle.time_s) + _NOT_STATED[settle.basis]
    if sheet.method is not LevelMethod.STICK:
        yield "settled below", f"{drops(sheet.drop_rate_per_s)} a second"


def _way(of: Sheet | Leg, units: Units) -> Rows:
    """Yield how a level is set, or what a phase of it has otherwise."""
    window, engine = of.window, of.engine
    if isinstance(of, Sheet) and of.wants_air:
        for row in of.air_windows:
            yield (
                "window",
                f"{_span(row.window, units)} in air of {_span(row.air, units)}",
            )
    elif window is not None:
        yield "window", _span(window, units)
    if engine is EngineRule.IDLING and isinstance(of, Sheet):
        yield "engine", f"idling, {of.idle_low_rpm:g} to {of.idle_high_rpm:g} rpm"
    elif engine is not None:
        yield "engine", engine.value.replace("-", " ")
    if of.method is not None:
        yield "method", of.method.value.replace("-", " ")
    yield from _ending(of, units)


def _span(window: Window, units: Units) -> str:
    return show_temperature_span(window.low_c, window.high_c, units)


def _ending(of: Sheet | Leg, units: Units) -> Rows:
    if of.wait_s:
        yield "wait", f"{show_duration(of.wait_s)} with the engine so"
    if of.close_at_c is not None:
        yield "close at", show_temperature(of.close_at_c, units)
    if isinstance(of, Leg) and of.settle_time_s is not None:
        yield "settle time", show_duration(of.settle_time_s)
    if of.selector_position:
        yield "selector in", of.selector_position


def _gearbox(sheet: Sheet, units: Units) -> Rows:
    service = sheet.service
    if service.fluid_name:
        yield "fluid", service.fluid_name
    if service.fluid_number:
        yield "its number", service.fluid_number
    for wrong in service.forbidden_fluids:
        yield "NEVER fill in", wrong
    if service.rounds > 1:
        yield "drain and fill", f"{service.rounds} times in one service"
    if service.service_fill_ml is not None:
        yield "service fill", _service_fill(service, units)
    volumes = (
        ("all of it", sheet.fill_ml),
        ("filter holds", service.filter_holds_ml),
    )
    for label, volume_ml in volumes:
        if volume_ml is not None:
            yield label, show_volume(volume_ml / 1000.0, units)
    yield from _shape(sheet, units)


def _shape(sheet: Sheet, units: Units) -> Rows:
    if sheet.sump_area_cm2 is not None:
        at = show_area(sheet.sump_area_cm2, units)
        yield "surface", f"{at} at the level opening"
    if sheet.bore_mm is not None:
        yield "opening's bore", show_length(sheet.bore_mm, units)
    if sheet.opening_forward_mm or sheet.opening_right_mm:
        yield "level opening", _opening(sheet, units)
    if sheet.service.tube_pitch_mm is not None:
        yield "tube's pitch", show_length(sheet.service.tube_pitch_mm, units)
    if sheet.density_kg_m3 is not None:
        yield "density", _density(sheet.density_kg_m3, units)
    thick, thin = sheet.viscosity_40_mm2_s, sheet.viscosity_100_mm2_s
    if thick is not None and thin is not None:
        ends = (show_temperature(at, units, digits=0) for at in (40.0, 100.0))
        yield "viscosity", f"{thick:g} and {thin:g} cSt at {' and '.join(ends)}"


def _density(density_kg_m3: float, units: Units) -> str:
    at = show_temperature(15.0, units, digits=0)
    return f"{density_kg_m3:g} kg/m³ at {at}"


def _service_fill(service: Service, units: Units) -> str:
    text = show_volume((service.service_fill_ml or 0.0) / 1000.0, units)
    if service.service_fill_tolerance_ml is not None:
        text += f" ± {show_volume(service.service_fill_tolerance_ml / 1000.0, units)}"
    return f"{text} at {show_temperature(service.service_fill_temp_c, units, digits=0)}"


def _opening(sheet: Sheet, units: Units) -> str:
    forward, right = sheet.opening_forward_mm, sheet.opening_right_mm
    along = f"{show_length(abs(forward), units)} {'forward' if forward > 0 else 'back'}"
    across = f"{show_length(abs(right), units)} {'right' if right > 0 else 'left'}"
    return f"{along}, {across} of the surface's middle"


def _variants(service: Service) -> Rows:
    for variant in service.variants:
        yield "this sheet" if variant.fits else "NOT this sheet", variant.name
        yield "", variant.look_for
        if variant.instead:
            yield "", f"Instead: {variant.instead}"


def _numbered(lines: tuple[str, ...]) -> Rows:
    for number, line in enumerate(lines, 1):
        yield f"{number}.", line


def _parts(parts: tuple[Part, ...]) -> Rows:
    for part in parts:
        count = f"{part.count} × " if part.count > 1 else ""
        once = ", used once" if part.one_use else ""
        number = part.number and f"part number {part.number}"
        facts = "".join(f", {fact}" for fact in (part.size, number) if fact)
        yield part.kind.value, f"{count}{part.name}{once}{facts}{_rest(part)}"


def _rest(item: Part | Drain) -> str:
    only = f" Only for: {', '.join(item.only_for)}." if item.only_for else ""
    note = item.note.rstrip(".")
    return (f". {note}." if note else ("." if only else "")) + only


def _fasteners(sheet: Sheet, units: Units) -> Rows:
    for fastener in sheet.service.fasteners:
        line = line_of(fastener)
        facts = [*line.before[1:]]
        if line.torque_nm is not None:
            give_nm = line.torque_tolerance_nm
            torque = torque_text(line.torque_nm, give_nm, units)
            facts.append(
                stages_words(fastener, partial(show_torque, units=units)) + torque
            )
        note = [fastener.note] if fastener.note else []
        facts += line.after[: len(line.after) - len(note)]
        yield fastener.name, ", ".join(facts)
        for word in note:
            yield "", word
        yield from _lift(fastener, sheet, units)
        if fastener.only_for:
            yield "", f"Only for: {', '.join(fastener.only_for)}."


def _lift(fastener: Fastener, sheet: Sheet, units: Units) -> Rows:
    lift = tube_lift(fastener, sheet.service.tube_pitch_mm, sheet.sump_area_cm2)
    if lift is None:
        return
    volume = ""
    if lift.volume_ml is not None:
        volume = f", worth {show_volume(lift.volume_ml / 1000.0, units)}"
    yield "", f"The turns back are {show_length(lift.height_mm, units)} higher{volume}"


def _drains(drains: tuple[Drain, ...], units: Units) -> Rows:
    for drain in drains:
        facts = [f"closed by {drain.fastener}"] if drain.fastener else []
        if drain.expected_ml is not None:
            facts.append(f"about {show_volume(drain.expected_ml / 1000.0, units)}")
        if drain.portion_ml is not None:
            each = show_volume(drain.portion_ml / 1000.0, units)
            facts.append(f"in portions of {each}, each filled in again")
        facts += ["MAY STAND UNDER PRESSURE"] if drain.pressure else []
        facts += ["runs out sideways"] if drain.sideways else []
        yield said_of(drain.name, drain.circuit), ", ".join(facts) + _rest(drain)


def _exercise(service: Service) -> Rows:
    exercise = service.exercise
    if exercise is not None:
        yield "positions", " ".join(exercise.positions)
        yield "in each", show_duration(exercise.hold_s)
        yield "rounds", str(exercise.rounds)


def _interval(service: Service, units: Units) -> Rows:
    due = service.interval
    if due is None:
        return
    if due.distance_km is not None:
        yield "after", show_distance(due.distance_km, units)
    if due.months is not None or due.days is not None:
        time = f"{due.days} days" if due.months is None else f"{due.months} months"
        yield "or after" if due.distance_km else "after", time
    if look := figures.look_words(due, units):
        yield "look at it", look
    yield "severe use", f"{due.severe_factor:.0%} of it, if any of these holds:"
    for line in due.severe:
        yield "", line


def _steps(sheet: Sheet) -> Rows:
    for number, step in enumerate(sheet.service.order or (StepKind.LEVEL,), 1):
        said = sheet.service.lines_of(step) if sheet.service.order else sheet.steps
        title = f"{number}. {step.value.replace('-', ' ')}"
        lines = () if step is StepKind.CAUTIONS else said
        yield (
            title,
            lines[0]
            if lines
            else ""
            if step is not StepKind.CAUTIONS
            else ("as above"),
        )
        for line in lines[1:]:
            yield "", line
    for line in sheet.service.licensed_tool:
        yield "licensed tool", line


def _signals(signals: tuple[Signal, ...], units: Units) -> Rows:
    for signal in signals:
        yield signal.role.value.replace("-", " "), _signal(signal, units)
    if not any(signal.role is Role.FLUID_TEMPERATURE for signal in signals):
        yield "fluid temperature", "is not read from the car: measure it"


def _signal(signal: Signal, units: Units) -> str:
    where = f"PID 0x{signal.identifier:02X}"
    if signal.pgn is not None:
        where = f"J1939 group {signal.pgn} (0x{signal.pgn:04X})"
    elif signal.request_id is not None:
        digits = 2 if signal.service == _ONE_BYTE_SERVICE else 4
        where = (
            f"asked of 0x{spell(signal.request_id)}, service 0x{signal.service:02X}, "
            f"identifier 0x{signal.identifier:0{digits}X}"
        )
    low, high = signal.minimum, signal.maximum
    believed = ""
    if signal.role is Role.FLUID_TEMPERATURE and low is not None and high is not None:
        believed = f"; plausible from {show_temperature_span(low, high, units)}"
    if signal.accuracy_c is not None:
        believed += f"; good to ± {show_temperature_step(signal.accuracy_c, units)}"
    return f"{where}; {_bytes(signal, units)}{believed}"


_ONE_BYTE_SERVICE = 0x21
"""Its identifiers have one byte (ISO 14230-3), those of 0x22 two (ISO 14229-1)."""


def _bytes(signal: Signal, units: Units) -> str:
    """Say which bytes hold the value and what is made of them."""
    first, length = signal.first_byte, signal.length
    place = f"byte {first}" if length == 1 else f"bytes {first} to {first + length - 1}"
    order = f", {signal.byte_order}-endian" if length > 1 else ""
    sign = ", signed" if signal.signed else ""
    if signal.labels:
        return f"{place}{order} of {signal.data_length}, a position for each value"
    return f"{place}{order} of {signal.data_length}{sign}, {_scale(signal, units)}"


def _scale(signal: Signal, units: Units) -> str:
    """Return what is made of the raw number, in the person's unit."""
    unit, factor, offset = UNIT_OF_ROLE[signal.role], signal.factor, signal.offset
    if units is Units.US and unit in _IN_US:
        other, by, plus = _IN_US[unit]
        unit, factor, offset = other, factor * by, offset * by + plus
    shift = f"{'+' if offset >= 0 else '-'} {abs(offset):g}"
    return f"raw × {factor:g} {shift} {unit.replace('deg', '°')}".rstrip()


_IN_US = {"degC": ("degF", 1.8, 32.0), "km/h": ("mph", 1.0 / MILE_KM, 0.0)}
"""Unit, factor and offset that take the place of ours (NIST SP 811, B.8)."""
