"""Everything a screen, a log or a page may show at one moment.

Every number is a float in the unit its name ends with (``temp_c``, ``age_s``).
"""

from __future__ import annotations

import math
from dataclasses import field

from bridge.level.step.step_values import Step, StepView
from bridge.level.thermometer import ThermometerStatus
from bridge.service.log import Log
from bridge.values.carried import NOTHING, Carried
from bridge.values.causes import Cause
from bridge.values.conditions import (
    Condition,
    ConditionName,
    ConditionState,
    SensorDoubt,
)
from bridge.values.frozen import frozen
from bridge.values.outlook import Passed
from bridge.values.readings import Fault, LinkState, TroubleCodes, VehicleNumber
from bridge.values.service_events import CarFacts
from bridge.values.sheet import Role, Sheet, Window

ALWAYS = (
    ConditionName.LINK,
    ConditionName.READING,
    ConditionName.TEMPERATURE,
    ConditionName.STAYS,
    ConditionName.ENGINE,
    ConditionName.STANDING,
)
"""The conditions every sheet asks for."""


@frozen
class Snapshot(StepView):
    """All of it: what the level step decides on (`View`), and the rest.

    None always means 'not known now'. ``temp_c`` and everything derived from it
    is None as soon as the last accepted reading is stale; ``raw_c`` with
    ``age_s`` stays, so that a screen can say what was last seen and how long ago.
    """

    t_s: float
    """Seconds since the start (in a replay: the trace's own time)."""
    lead: Sheet | None = None
    """The sheet as it holds in the present phase of its level; None: not known."""
    link: LinkState
    link_detail: str = ""
    """What the link is doing or has heard; '' if nothing is to be said."""
    link_cause: Cause | None = None
    """Why something that is needed is not read; None: nothing is missing."""
    untold: tuple[Role, ...] = ()
    """What no control unit of this car tells: the person's word stands in."""
    raw_c: float | None = None
    age_s: float | None = None
    conditions: tuple[Condition, ...] = ()
    figures_in_s: float | None = None
    """Until figures are given, or given without doubt again; None: not known."""
    passed: Passed | None = None
    """Set while the engine warms the fluid on beyond the window."""
    engine_rpm: float | None = None
    speed_kmh: float | None = None
    coolant_c: float | None = None
    ambient_c: float | None = None
    voltage_v: float | None = None
    selector: str | None = None
    selector_wanted: str = ""
    """Where the sheet wants it; '' if no matter."""
    step: Step | None = None
    """Where the level step stands; None: there is no level step."""
    carried: Carried = NOTHING
    """What was confirmed before this watch, and on which car."""
    told: Log | None = None
    """What the person did and entered in the service; None: there is no service."""
    log: Log | None = None
    """The same with what the level step tells (bridge.service.level_facts)."""
    faults: tuple[tuple[Role, Fault], ...] = field(default=())
    """The standing fault of each signal that has one."""
    codes: TroubleCodes | None = None
    """The trouble codes last read."""
    vin: VehicleNumber | None = None
    doubts: tuple[SensorDoubt, ...] = ()
    """Doubts about the sensor, with what they rest on."""
    unmoved_s: float | None = None
    """For so many seconds, minutes at least, the value has not moved; None: it has."""
    thermometer_status: ThermometerStatus | None = None
    """How the hand thermometer stands; None: there is none."""

    def says_go(self, window: Window, least_chance: float) -> bool:
        """Return the same of all that is known: live, dated, each condition met."""
        needless = ConditionState.NEEDLESS
        found = {c.name: c.state for c in self.every_condition()}
        dated = self.age_s is not None and 0.0 <= self.age_s < math.inf
        return (
            StepView.says_go(self, window, least_chance)
            and (self.link is LinkState.LIVE or found[ConditionName.LINK] is needless)
            and (dated or found[ConditionName.READING] is needless)
            and all(s in (ConditionState.MET, needless) for s in found.values())
        )

    @property
    def car_facts(self) -> CarFacts | None:
        """What the car says of itself now; None: nothing live comes from it."""
        if self.link is not LinkState.LIVE:
            return None
        codes = self.codes
        return CarFacts(
            stored=codes.stored if codes else None,
            pending=codes.pending if codes else None,
            permanent=codes.permanent if codes else None,
            lamp=codes.mil if codes else None,
            vin=self.vin.text if self.vin else "",
            voltage_v=self.voltage_v,
            engine_rpm=self.engine_rpm,
        )

    def every_condition(self) -> tuple[Condition, ...]:
        """Return all conditions in their order; one not reported is not known.

        Those of `ALWAYS` belong to every sheet, the rest only if the gate names them.
        """
        said = {c.name: c for c in self.conditions}
        return tuple(
            said.get(name, Condition(name=name, state=ConditionState.UNKNOWN))
            for name in ConditionName
            if name in said or name in ALWAYS
        )
