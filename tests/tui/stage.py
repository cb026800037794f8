"""A feed that plays what a test puts on, and snapshots of an invented gearbox.

The curve is Newton's law of cooling (exponential approach to an end
temperature), from memory of any physics textbook: T = E - (E - T0) exp(-t/tau).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import exp, log

from bridge.level.gate import Facts, ReadingState, judge, verdict
from bridge.level.settling.outflow import settle_of
from bridge.snapshot import Snapshot
from bridge.values.events import Marked, Tilted
from bridge.values.outlook import Crossing, Outlook, Trend
from bridge.values.readings import LinkState
from bridge.values.sheet import Sheet, Window

SHEET = Sheet(
    name="Invented eight-speed",
    source="invented for the tests",
    window=Window(low_c=42.0, high_c=52.0),
    settle_time_s=60.0,
    cautions=("The level plug of this invented gearbox sits beside the exhaust.",),
    steps=("Open the level plug.", "Shut it when the stream breaks into drips."),
)


@dataclass
class StagedFeed:
    """A feed whose snapshots come from the test, on any thread it likes."""

    speed: float | None = 10.0
    deliver: Callable[[Snapshot], None] = field(init=False)
    failed: Callable[[str], None] = field(init=False)
    starts: int = 0
    stops: int = 0
    told: list[Marked | Tilted] = field(default_factory=list)

    def start(
        self, deliver: Callable[[Snapshot], None], failed: Callable[[str], None]
    ) -> None:
        self.deliver, self.failed = deliver, failed
        self.starts += 1

    def stop(self) -> None:
        self.stops += 1

    def set_speed(self, speed: float) -> None:
        self.speed = speed

    def tell(self, told: Marked | Tilted) -> None:
        self.told.append(told)


@dataclass(frozen=True, kw_only=True)
class Curve:
    """A fluid on its way from one temperature to another."""

    start_c: float = 25.0
    end_c: float = 77.0
    constant_s: float = 900.0

    def temp_c(self, t_s: float) -> float:
        return self.end_c - (self.end_c - self.start_c) * exp(-t_s / self.constant_s)

    def rate_c_per_s(self, t_s: float) -> float:
        return (self.end_c - self.temp_c(t_s)) / self.constant_s

    def time_to(self, t_s: float, level_c: float) -> float | None:
        """Return the seconds from t_s to a temperature; None: past or never."""
        now_c = self.temp_c(t_s)
        if not min(now_c, self.end_c) < level_c < max(now_c, self.end_c):
            return None
        return self.constant_s * log((self.end_c - now_c) / (self.end_c - level_c))

    def t_at(self, level_c: float) -> float:
        """Return the time at which a temperature is reached."""
        found = self.time_to(0.0, level_c)
        assert found is not None
        return found

    def snapshot(self, t_s: float, sheet: Sheet = SHEET) -> Snapshot:
        """Return the snapshot of a warm car whose only trouble is the temperature."""
        temp_c, window = self.temp_c(t_s), sheet.window
        warming = self.end_c > self.start_c
        enter_c, leave_c = window.low_c, window.high_c
        if not warming:
            enter_c, leave_c = leave_c, enter_c
        inside = window.low_c <= temp_c <= window.high_c
        left_s = self.time_to(t_s, leave_c)
        stays = left_s is None or 0.86 * left_s > settle_of(sheet).time_s
        seen = Snapshot(
            t_s=t_s,
            link=LinkState.LIVE,
            temp_c=temp_c,
            temp_sd_c=0.2,
            raw_c=float(round(temp_c)),
            age_s=0.3,
            rate_c_per_s=self.rate_c_per_s(t_s),
            trend=Trend.WARMING if warming else Trend.COOLING,
            opens=NOW if inside else crossing(self.time_to(t_s, enter_c)),
            shuts=crossing(left_s),
            outlook=Outlook.TELLING,
            settles_at_c=self.end_c,
            stay_chance=0.99 if inside and stays else 0.2,
            engine_rpm=780.0,
            speed_kmh=0.0,
            coolant_c=min(90.0, temp_c + 22),
            ambient_c=18.0,
            voltage_v=14.1,
            selector="P",
        )
        return judged(seen, ReadingState.LIVE, sheet)


NOW = Crossing(p05_s=0.0, p50_s=0.0, p95_s=0.0, chance=1.0)


def crossing(t_s: float | None) -> Crossing | None:
    if t_s is None:
        return None
    return Crossing(p05_s=0.86 * t_s, p50_s=t_s, p95_s=1.18 * t_s, chance=0.98)


def judged(snapshot: Snapshot, reading: ReadingState, sheet: Sheet) -> Snapshot:
    """Return the snapshot with the real gate's verdict, reasons and conditions."""
    temp_c = snapshot.temp_c
    margin_c = None
    if temp_c is not None:
        margin_c = min(temp_c - sheet.window.low_c, sheet.window.high_c - temp_c)
    facts = Facts(
        link=snapshot.link,
        reading=reading,
        raw_c=snapshot.raw_c,
        temp_c=temp_c,
        inside_chance=None if margin_c is None else float(margin_c > 0.4),
        stay_chance=snapshot.stay_chance,
        engine_rpm=snapshot.engine_rpm,
        speed_kmh=snapshot.speed_kmh,
    )
    conditions = judge(facts, sheet)
    said, reasons = verdict(conditions)
    return replace(snapshot, verdict=said, reasons=reasons, conditions=conditions)


WARM_UP = Curve()
COOL_DOWN = Curve(start_c=85.0, end_c=27.0, constant_s=1500.0)
TOO_COLD_A_DAY = Curve(start_c=-8.0, end_c=38.0, constant_s=700.0)


def silent(snapshot: Snapshot, reading: ReadingState, **more: object) -> Snapshot:
    """Return what a snapshot becomes once its reading cannot be trusted."""
    blank = replace(
        snapshot,
        temp_c=None,
        temp_sd_c=None,
        rate_c_per_s=None,
        trend=Trend.UNKNOWN,
        opens=None,
        shuts=None,
        outlook=Outlook.CANNOT_TELL,
        stay_chance=None,
        settles_at_c=None,
        **more,
    )
    return judged(blank, reading, SHEET)


def connecting(t_s: float = 1.0) -> Snapshot:
    nothing = Snapshot(t_s=t_s, link=LinkState.CONNECTING)
    return judged(nothing, ReadingState.NONE, SHEET)


def stale(t_s: float, age_s: float, curve: Curve = WARM_UP) -> Snapshot:
    seen = curve.snapshot(t_s - age_s)
    return silent(seen, ReadingState.STALE, t_s=t_s, age_s=age_s)


def lost(t_s: float, age_s: float, curve: Curve = WARM_UP) -> Snapshot:
    return silent(
        curve.snapshot(t_s - age_s),
        ReadingState.STALE,
        t_s=t_s,
        age_s=age_s,
        link=LinkState.LOST,
        link_detail="the port /dev/ttyUSB0 has vanished",
        engine_rpm=None,
        speed_kmh=None,
        coolant_c=None,
        ambient_c=None,
        voltage_v=None,
        selector=None,
    )


def never(t_s: float) -> Snapshot:
    return replace(
        TOO_COLD_A_DAY.snapshot(t_s),
        outlook=Outlook.MAY_NEVER,
        opens=Crossing(p05_s=2900.0, p50_s=None, p95_s=None, chance=0.12),
        shuts=Crossing(p05_s=None, p50_s=None, p95_s=None, chance=0.02),
        ambient_c=-8.0,
        coolant_c=74.0,
    )
