"""The sections of the whole service, item by item, in our units."""

from __future__ import annotations

from typing import Any

from bridge.core.service_sheet import (
    Drain,
    Exercise,
    Fastener,
    Interval,
    Part,
    PartKind,
    Renewal,
    StepKind,
    Variant,
)
from bridge.profile.keys_service import LINED_STEPS, line_key
from bridge.profile.table import Table

_MONTH_S = 365.25 / 12 * 86400.0
"""A month as pint has it: a twelfth of the Julian year."""


def read_variant(table: Table) -> Variant:
    """Return one [[variant]]."""
    fits = table.flag("fits", default=True)
    if fits and table.has("instead"):
        raise table.mistake(
            "instead",
            "is for a variant that the sheet does not fit; add fits = false or take "
            "it out",
        )
    return Variant(
        name=table.text("name"),
        look_for=table.text("look_for"),
        fits=fits,
        instead=table.text("instead", ""),
    )


def read_part(table: Table) -> Part:
    """Return one [[part]]."""
    return Part(
        name=table.text("name"),
        kind=PartKind(table.choice("kind", tuple(PartKind), "part")),
        count=table.count("count", 1),
        one_use=table.flag("one_use", default=False),
        note=table.text("note", ""),
        only_for=_only_for(table),
    )


def read_fastener(table: Table) -> Fastener:
    """Return one [[fastener]], its figures checked against one another."""
    _check_hand_tight(table)
    _check_after_torque(table)
    return Fastener(
        name=table.text("name"),
        drive=table.text("drive", ""),
        thread=table.text("thread", ""),
        count=table.count("count", 1),
        torque_nm=table.amount("torque"),
        torque_tolerance_nm=table.amount("torque_tolerance"),
        angle_deg=table.amount("angle"),
        turns_back=table.figure("turns_back"),
        hand_tight=table.flag("hand_tight", default=False),
        plastic=table.flag("plastic", default=False),
        renew=tuple(Renewal(word) for word in table.words("renew")),
        step=StepKind(table.choice("step", tuple(StepKind), "refit")),
        note=table.text("note", ""),
        only_for=_only_for(table),
    )


def _check_hand_tight(table: Table) -> None:
    if not table.flag("hand_tight", default=False):
        return
    for key in ("torque", "torque_tolerance", "angle"):
        if table.has(key):
            raise table.mistake(
                key, "stands beside hand_tight = true; take one of the two out"
            )


def _check_after_torque(table: Table) -> None:
    torque = table.amount("torque")
    for key in ("torque_tolerance", "angle"):
        if table.has(key) and torque is None:
            raise table.mistake(
                key, "has no torque before it; add torque or take it out"
            )
    tolerance = table.amount("torque_tolerance")
    if torque is not None and tolerance is not None and tolerance >= torque:
        raise table.mistake(
            "torque_tolerance", "is no smaller than the torque; correct one of the two"
        )


def read_drain(table: Table) -> Drain:
    """Return one [[drain]]."""
    return Drain(
        name=table.text("name"),
        fastener=table.text("fastener", ""),
        expected_ml=_ml(table, "expected"),
        pressure=table.flag("pressure", default=False),
        sideways=table.flag("sideways", default=False),
        note=table.text("note", ""),
        only_for=_only_for(table),
    )


def read_exercise(table: Table) -> Exercise | None:
    """Return the [exercise] section; None without it."""
    if not table.entries:
        return None
    positions = table.lines("positions")
    if len(positions) < 2:
        raise table.mistake(
            "positions",
            'does not name two positions; write it like positions = ["P", "R", "N"]',
        )
    hold = table.amount("hold")
    return Exercise(
        positions=positions,
        hold_s=5.0 if hold is None else hold,
        rounds=table.count("rounds", 1),
    )


def read_interval(table: Table) -> Interval | None:
    """Return the [interval] section; None without it."""
    if not table.entries:
        return None
    distance, months = table.amount("distance"), _months(table)
    if distance is None and months is None:
        raise table.mistake(
            "distance",
            'is missing, and so is months; add one, such as distance = "60000 km"',
        )
    factor = table.figure("severe_factor")
    return Interval(
        distance_km=distance,
        months=months,
        severe_factor=0.5 if factor is None else factor,
        severe=table.lines("severe"),
    )


def _months(table: Table) -> int | None:
    if table.has("months") and table.has("time"):
        raise table.mistake("time", "says the same as months; take one of the two out")
    if table.has("months"):
        return table.count("months")
    time_s = table.amount("time")
    return None if time_s is None else max(1, round(time_s / _MONTH_S))


def read_volumes(fluid: Table, filter_: Table, tube: Table) -> dict[str, Any]:
    """Return the Service's fields of [fluid], [filter] and [tube]."""
    fill = _ml(fluid, "service_fill")
    tolerance = _ml(fluid, "service_fill_tolerance")
    temp_c = fluid.amount("service_fill_temp")
    for key in ("service_fill_tolerance", "service_fill_temp"):
        if fluid.has(key) and fill is None:
            raise fluid.mistake(
                key, "stands without service_fill; add that or take it out"
            )
    if fill is not None and tolerance is not None and tolerance >= fill:
        raise fluid.mistake(
            "service_fill_tolerance",
            "is no smaller than service_fill; correct one of the two",
        )
    return {
        "fluid_name": fluid.text("name", ""),
        "service_fill_ml": fill,
        "service_fill_tolerance_ml": tolerance,
        "service_fill_temp_c": 20.0 if temp_c is None else temp_c,
        "filter_holds_ml": _ml(filter_, "holds"),
        "tube_pitch_mm": tube.amount("pitch"),
    }


Lines = tuple[tuple[StepKind, tuple[str, ...]], ...]


def read_lines(steps: Table, cautions: tuple[str, ...]) -> Lines:
    """Return what the sheet says of each step, in the usual order."""
    told: dict[StepKind, tuple[str, ...]] = {
        step: steps.lines(line_key(step)) for step in LINED_STEPS
    }
    told[StepKind.CAUTIONS] = cautions
    return tuple((step, told[step]) for step in StepKind if told[step])


def _ml(table: Table, key: str) -> float | None:
    litres = table.amount(key)
    return None if litres is None else round(litres * 1000.0, 7)


def _only_for(table: Table) -> tuple[str, ...]:
    names = table.lines("only_for")
    table.check_once("only_for", names)
    return names
