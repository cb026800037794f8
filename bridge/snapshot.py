"""Everything a screen, a log or a page may show at one moment.

Every number is a float in the unit its name ends with (``temp_c``, ``age_s``).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from bridge.level.step.step_values import Step, View
from bridge.level.thermometer import Hand
from bridge.service.log import Log
from bridge.values.carried import NOTHING, Carried
from bridge.values.causes import Cause
from bridge.values.conditions import Condition, Doubt, Lean, Reason, Verdict
from bridge.values.outlook import Crossing, Outlook, Passed, Trend
from bridge.values.readings import Fault, LinkState, TroubleCodes, VehicleNumber
from bridge.values.sheet import Role


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """Everything a screen, a log or a page may show at one moment.

    None always means 'not known now'. ``temp_c`` and everything derived from it
    is None as soon as the last accepted reading is stale; ``raw_c`` with
    ``age_s`` stays, so that a screen can say what was last seen and how long ago.
    """

    t_s: float
    """Seconds since the start (in a replay: the trace's own time)."""
    link: LinkState
    link_detail: str = ""
    """What the link is doing or has heard; '' if nothing is to be said."""
    link_cause: Cause | None = None
    """Why something that is needed is not read; None: nothing is missing."""
    untold: tuple[Role, ...] = ()
    """What no control unit of this car tells: the person's word stands in."""
    temp_c: float | None = None
    temp_sd_c: float | None = None
    raw_c: float | None = None
    age_s: float | None = None
    rate_c_per_s: float | None = None
    trend: Trend = Trend.UNKNOWN
    verdict: Verdict = Verdict.NO_GO
    reasons: tuple[Reason, ...] = ()
    conditions: tuple[Condition, ...] = ()
    opens: Crossing | None = None
    """When the fluid enters the window; all zeros while it is inside."""
    shuts: Crossing | None = None
    """When it then leaves the window."""
    outlook: Outlook = Outlook.CANNOT_TELL
    figures_in_s: float | None = None
    """Until figures are given, or given without doubt again; None: not known."""
    passed: Passed | None = None
    """Set while the engine warms the fluid on beyond the window."""
    settles_at_c: float | None = None
    """Where the temperature is heading if nothing changes."""
    stay_chance: float | None = None
    """Chance, 0..1, of staying inside for the sheet's settle time from now."""
    engine_rpm: float | None = None
    speed_kmh: float | None = None
    coolant_c: float | None = None
    ambient_c: float | None = None
    voltage_v: float | None = None
    selector: str | None = None
    step: Step | None = None
    """Where the level step stands; None: nobody runs it (a bare look)."""
    carried: Carried = NOTHING
    """What was confirmed before this watch, and on which car."""
    told: Log | None = None
    """What the person did and told of the service; None: nobody works at one."""
    log: Log | None = None
    """The same with what the level step tells (bridge.service.level_facts)."""
    lean: Lean | None = None
    """What the car's tilt is worth, if the person typed it in."""
    faults: tuple[tuple[Role, Fault], ...] = field(default=())
    """The standing fault of each signal that has one."""
    codes: TroubleCodes | None = None
    """The trouble codes last read."""
    vin: VehicleNumber | None = None
    doubts: tuple[Doubt, ...] = ()
    """Doubts about the sensor, with what they rest on."""
    unmoved_s: float | None = None
    """For so many seconds, minutes at least, the value has not moved; None: it has."""
    hand: Hand | None = None
    """How the hand thermometer stands; None: there is none."""


def view_of(snapshot: Snapshot) -> View:
    """Return what the step needs of a snapshot."""
    return View(
        verdict=snapshot.verdict,
        reasons=snapshot.reasons,
        temp_c=snapshot.temp_c,
        temp_sd_c=snapshot.temp_sd_c,
        rate_c_per_s=snapshot.rate_c_per_s,
        trend=snapshot.trend,
        opens=snapshot.opens,
        shuts=snapshot.shuts,
        outlook=snapshot.outlook,
        settles_at_c=snapshot.settles_at_c,
        stay_chance=snapshot.stay_chance,
        lean=snapshot.lean,
    )
