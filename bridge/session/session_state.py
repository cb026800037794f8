"""Everything known about one car on one sheet, and how it begins."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field, replace
from types import MappingProxyType

from bridge.level import sensor_seen
from bridge.level.step import machine
from bridge.level.step.plan import Plan, plan_of
from bridge.level.step.step_values import Step
from bridge.level.thermometer import TYPED_STALE_S, Compared, Thermometer
from bridge.service.level_facts import facts_of, whole
from bridge.service.log import Log
from bridge.session.pace import NOT_YET, Pace
from bridge.thermal import estimator as est
from bridge.thermal.lesson import NO_LESSONS, Lessons
from bridge.values.carried import NOTHING, Carried
from bridge.values.causes import Cause
from bridge.values.events import Tilted
from bridge.values.frozen import frozen
from bridge.values.outlook import Trend
from bridge.values.readings import (
    STALE_POLLS,
    STALE_S,
    Fault,
    LinkState,
    Reading,
    TroubleCodes,
    VehicleNumber,
)
from bridge.values.service_events import ServiceKind
from bridge.values.sheet import Confirmation, Role, Sheet


@frozen
class Session:
    """Everything known so far about one car on one sheet."""

    sheet: Sheet
    track: est.Track
    stale_s: float = STALE_S
    """Age in seconds beyond which a reading is stale."""
    link: LinkState = LinkState.CONNECTING
    link_detail: str = ""
    link_cause: Cause | None = None
    """Why something that is needed is not read; None: nothing is missing."""
    untold: frozenset[Role] = frozenset()
    """What no control unit of this car tells."""
    readings: Mapping[Role, Reading] = field(default_factory=dict)
    """The last believed reading of each role."""
    faults: Mapping[Role, Fault] = field(default_factory=dict)
    """The standing fault of each role; a reading clears it."""
    believed: bool = True
    """False while the newest fluid readings jump faster than fluid can."""
    distrust_until_s: float = -math.inf
    """Readings stamped up to here are stale, whatever their age: the clock jumped."""
    leads: tuple[tuple[tuple[Sheet, Plan], ...], ...]
    """The sheet, and what it says of the level step, in each phase of the level; there
    first while the air is not known, then for each of its windows by the air."""
    engine_since_s: float | None = None
    """Since when the engine has been as the sheet wants it; None: it is not."""
    step: Step
    """Where the level step stands."""
    told: Log = ()
    """What the person did and told of the service, in order."""
    judged_after: int = 0
    """So many of these stood there when the level was last judged, or that was taken
    back."""
    carried: Carried = NOTHING
    """What was confirmed before this watch, and on which car."""
    tilted: Tilted | None = None
    """How the car leans, as the person last typed it in."""
    assumed: Mapping[Role, float] = field(default_factory=dict)
    """Values a replay takes for granted where the trace has no column for them."""
    codes: TroubleCodes | None = None
    """The trouble codes last read; they stand until they are read again."""
    vin: VehicleNumber | None = None
    lessons: Lessons = NO_LESSONS
    """What earlier jobs taught."""
    history: sensor_seen.SensorHistory = sensor_seen.NOTHING_SEEN
    """What was seen that bears on whether the sensor is to be believed."""
    thermometer: Thermometer | None = None
    """The hand thermometer, and whether it is the only source; None: none in use."""
    compared: Compared | None = None
    """The last typed reading held against the car's sensor."""
    short_of_edge_s: float | None = None
    """When the fluid was last seen at or below the window's upper edge."""
    opens_pace: Pace = NOT_YET
    """Where the figures counted down to stood."""
    shuts_pace: Pace = NOT_YET
    trend: Trend = Trend.UNKNOWN
    """Where the temperature was last said to go."""
    words_s: Mapping[Confirmation, float] = field(default_factory=dict)
    """When the person last stood in for the car, and with what."""

    @property
    def lead(self) -> Sheet:
        """The sheet as it holds in the present phase of its level."""
        return self._led[0]

    @property
    def plan(self) -> Plan:
        """What the sheet says of the level step in its present phase."""
        return self._led[1]

    @property
    def _led(self) -> tuple[Sheet, Plan]:
        row = self.step.air_row
        return self.leads[self.step.leg][0 if row is None else row + 1]

    @property
    def log(self) -> Log:
        """The service's log with what the level step tells."""
        return whole(self.told, facts_of(self.step, self.judged_after, self.sheet.legs))


def begin(
    sheet: Sheet,
    *,
    interval_s: float,
    sensor: est.Sensor | None = None,
    assumed: Mapping[Role, float] | None = None,
    lessons: Lessons = NO_LESSONS,
    thermometer: Thermometer | None = None,
    told: Log = (),
) -> Session:
    """Return the session before anything is known.

    ``interval_s``: seconds between two questions for the fluid's temperature.
    ``lessons``: what earlier jobs on such cars taught.
    ``thermometer``: a hand thermometer that is read beside the car, or instead of it.
    ``told``: what was told of the service before.
    """
    by_hand = thermometer is not None and thermometer.alone
    if thermometer is not None and by_hand:
        sensor = est.Sensor(sd_c=thermometer.noise_sd_c)
    rows = (None, *range(len(sheet.air_windows)))
    leads = tuple(
        tuple((at := sheet.at(leg, row), plan_of(at)) for row in rows)
        for leg in range(max(1, len(sheet.legs)))
    )
    first = leads[0][0][0]
    return Session(
        sheet=sheet,
        track=est.begin(sensor or sensor_of(sheet), prior=lessons.sheet),
        lessons=lessons,
        told=told,
        history=_history(told),
        leads=leads,
        step=replace(
            machine.begin(0.0, method=first.method),
            ends=first.ends,
            by_air=bool(sheet.air_windows),
            legs=len(leads),
        ),
        stale_s=TYPED_STALE_S if by_hand else max(STALE_POLLS * interval_s, STALE_S),
        thermometer=thermometer,
        assumed=MappingProxyType(dict(assumed or {})),
    )


def _history(told: Log) -> sensor_seen.SensorHistory:
    """What is known of the sensor before it is read: whether fluid was poured in."""
    if not any(event.kind is ServiceKind.IN for event in told):
        return sensor_seen.NOTHING_SEEN
    # long ago: it explains no jump, but after it there is no cold soak to speak of
    return sensor_seen.poured(sensor_seen.NOTHING_SEEN, -math.inf)


def sensor_of(sheet: Sheet) -> est.Sensor:
    """Return the resolution of the sheet's fluid signal; 0 (learn it) without one."""
    signal = sheet.signal(Role.FLUID_TEMPERATURE)
    return est.Sensor(resolution_c=abs(signal.factor) if signal else 0.0)


def with_step(session: Session, step: Step) -> Session:
    """Put a step in; another judgement takes the place of all told of the level."""
    if len(step.legs_done) > len(session.step.legs_done):
        *before, done = step.legs_done
        done = replace(done, log_length=session.judged_after)
        step = replace(step, legs_done=(*before, done))
    led, was = replace(session, step=step).lead, session.lead
    if led is not was:  # another window or phase: nothing counted down to it before
        step = replace(step, method=led.method, ends=led.ends)
        session = replace(
            session, opens_pace=NOT_YET, shuts_pace=NOT_YET, short_of_edge_s=None
        )
    if step.judgement == session.step.judgement:
        return replace(session, step=step)
    return replace(session, step=step, judged_after=len(session.told))
