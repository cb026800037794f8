"""The sections that say how the level is set, what to look out for, what to do."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.sheets.keys.keys_level import PROTOCOLS, SESSIONS
from bridge.sheets.reading.table import Table
from bridge.units import Dimension
from bridge.values.sheet import EngineRule, LevelMethod, Window

_COLDEST_C = 0.0
_HOTTEST_C = 150.0
"""Windows in practice lie between 20 and 92 °C (common practice); beyond these
limits it is a slip of the pen."""

_SHORTEST_S, _LONGEST_S = 1.0, 1800.0
_SLOWEST_RPM, _FASTEST_RPM = 200.0, 3000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """The [level] section, in our units."""

    window: Window
    engine: EngineRule
    settle_time_s: float
    stay_chance: float
    idle_low_rpm: float
    idle_high_rpm: float
    method: LevelMethod


def read_level(table: Table) -> Level:
    """Return the [level] section; only the window must be there."""
    idle_low, idle_high = _idle(table)
    return Level(
        window=_window(table),
        engine=EngineRule(table.choice("engine", tuple(EngineRule), "idling")),
        settle_time_s=_settle_time(table),
        stay_chance=table.number("stay_chance", 0.5, 0.999, 0.9),
        idle_low_rpm=idle_low,
        idle_high_rpm=idle_high,
        method=LevelMethod(table.choice("method", tuple(LevelMethod), "overflow-tube")),
    )


def read_protocol(table: Table) -> str:
    """Return the [link] section's protocol."""
    return table.choice("protocol", PROTOCOLS, "auto")


def read_session(table: Table) -> bool:
    """Return whether the [link] section asks for an extended session."""
    return table.choice("session", SESSIONS, "default") == "extended"


def _window(table: Table) -> Window:
    low, high = table.pair("window", Dimension.TEMPERATURE)
    if low < _COLDEST_C or high > _HOTTEST_C:
        raise table.mistake(
            "window",
            f"runs from {low:.6g} to {high:.6g} degC, where no level is set; write "
            f"limits from {_COLDEST_C:g} to {_HOTTEST_C:g} degC",
        )
    return Window(low_c=low, high_c=high)


def _settle_time(table: Table) -> float:
    settle = table.quantity("settle_time", Dimension.DURATION, 60.0)
    if not _SHORTEST_S <= settle <= _LONGEST_S:
        raise table.mistake(
            "settle_time",
            f"comes to {settle:.6g} s; write a time from {_SHORTEST_S:g} to "
            f"{_LONGEST_S:g} s",
        )
    return settle


def _idle(table: Table) -> tuple[float, float]:
    low, high = table.pair("idle_speed", Dimension.ENGINE_SPEED, (500.0, 1100.0))
    if low < _SLOWEST_RPM or high > _FASTEST_RPM:
        raise table.mistake(
            "idle_speed",
            f"runs from {low:.6g} to {high:.6g} rpm, which is no idling; write limits "
            f"from {_SLOWEST_RPM:g} to {_FASTEST_RPM:g} rpm",
        )
    return low, high
