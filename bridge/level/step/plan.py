"""What a sheet and the settings say of the level step; does not change in a job."""

from __future__ import annotations

from bridge.level.settling.outflow import drip_rule, settle_of
from bridge.level.settling.settle_time import STATED_SPREAD
from bridge.level.settling.settle_values import USUAL_RULE, DripRule
from bridge.level.viscosity import USUAL, Fluid
from bridge.level.volume import DENSITY_KG_M3
from bridge.values.frozen import frozen
from bridge.values.sheet import (
    Confirmation,
    Drive,
    EngineRule,
    LegEnd,
    LevelMethod,
    Sheet,
    StickMarks,
    Window,
)


@frozen
class Plan:
    """What the sheet and the settings say of the step; does not change in a job."""

    window: Window
    method: LevelMethod = LevelMethod.OVERFLOW_TUBE
    stick: tuple[StickMarks, ...] = ()
    """The stick's marks by temperature."""
    close_at_c: float | None = None
    """The fluid temperature at which the opening is closed, whatever still runs;
    None: it is closed when the stream breaks into drips."""
    ends: LegEnd = LegEnd.LEVEL
    """What ends this phase of the level."""
    engine: EngineRule = EngineRule.IDLING
    settle_s: float = 60.0
    """At the middle of the window."""
    settle_spread: float = STATED_SPREAD
    stay_chance: float = 0.9
    fluid: Fluid = USUAL
    drip: DripRule = USUAL_RULE
    in_gear: bool = False
    """Whether the selector must stand out of park."""
    drive: Drive = Drive.COMBUSTION
    confirm: tuple[Confirmation, ...] = ()
    """What must be confirmed before anything else."""
    fill_ml: float | None = None
    """All the fluid with the level right; None: the size of an error is not told."""
    area_cm2: float | None = None
    density_kg_m3: float = DENSITY_KG_M3
    sensor_accuracy_c: float | None = None
    """Of the fluid's sensor, either way; None: not stated."""
    tilt_limit_deg: float | None = None
    opening_forward_mm: float = 0.0
    opening_right_mm: float = 0.0
    lead_s: float = 60.0
    """How long before the window opens the person is called."""
    react_s: float = 5.0
    """What a person needs from a call to the plug being open, or shut."""
    close_lead_s: float = 15.0
    """How long before the window may shut the plug is called in."""
    blind_s: float = 20.0
    """So long an open plug may go without a believable temperature."""
    waver_s: float = 3.0
    """So long the idle may leave its band with the plug open."""
    grace_s: float = 15.0
    """After a call to close, the next call is louder."""
    endless: float = 2.5
    """A stream that lasts so many times the expected time 'goes on'."""
    restart_share: float = 0.3
    """After a miss: cool to this share of the window (from the edge it starts at)."""


def _fluid(sheet: Sheet) -> Fluid:
    thick, thin = sheet.viscosity_40_mm2_s, sheet.viscosity_100_mm2_s
    if thick is None or thin is None:
        return USUAL
    return Fluid(at_40_mm2_s=thick, at_100_mm2_s=thin)


def plan_of(sheet: Sheet) -> Plan:
    """Return the plan a sheet makes; what it does not say is left at our defaults.

    Raises ValueError if the sheet's viscosities cannot be (bridge.level.viscosity).
    """
    settle = settle_of(sheet)
    return Plan(
        window=sheet.window,
        method=sheet.method,
        stick=sheet.stick,
        close_at_c=sheet.close_at_c,
        ends=sheet.ends,
        engine=sheet.engine,
        settle_s=settle.time_s,
        settle_spread=settle.spread,
        drip=drip_rule(sheet),
        stay_chance=sheet.stay_chance,
        fluid=_fluid(sheet),
        confirm=sheet.confirmations,
        in_gear=sheet.in_gear,
        drive=sheet.drive,
        fill_ml=sheet.fill_ml,
        area_cm2=sheet.sump_area_cm2,
        density_kg_m3=sheet.density_kg_m3 or DENSITY_KG_M3,
        sensor_accuracy_c=sheet.sensor_accuracy_c,
        tilt_limit_deg=sheet.tilt_limit_deg,
        opening_forward_mm=sheet.opening_forward_mm,
        opening_right_mm=sheet.opening_right_mm,
    )
