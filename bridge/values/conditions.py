"""The verdict, the conditions of a good level, and the reasons against GO."""

from __future__ import annotations

from enum import StrEnum

from bridge.values.frozen import frozen


@frozen
class TiltWorth:
    """The car's tilt as the person read it, and what it is worth."""

    lengthways_deg: float
    across_deg: float
    error_mm: float
    """At the level opening: above 0 the level would end too high."""
    error_ml: float | None
    """None: the sheet gives no sump area."""
    inside_limit: bool | None
    """None: the sheet gives no limit."""


class Verdict(StrEnum):
    """The banner."""

    GO = "GO"
    NO_GO = "NO-GO"


class Reason(StrEnum):
    """Why not. One value for each condition of the gate; wording: tui.words.wording."""

    CONNECTING = "connecting"
    LINK_LOST = "link-lost"
    ADAPTER_SILENT = "adapter-silent"
    NO_SIGNAL = "no-fluid-signal"
    NO_READING = "no-reading"
    READING_STALE = "reading-stale"
    READING_REFUSED = "reading-refused"
    READING_IMPLAUSIBLE = "reading-implausible"
    SENSOR_CODE = "fluid-sensor-code"
    """A unit holds a trouble code against the fluid's temperature sensor."""
    SIGNAL_UNCONFIRMED = "signal-unconfirmed"
    """The signal was found by search and no thermometer has borne it out yet."""
    SENSOR_OFFSET = "sensor-offset"
    SENSOR_STUCK = "sensor-stuck"
    SENSOR_STOPPED = "sensor-stopped"
    """The value stopped dead where fluid would have moved on."""
    SENSOR_JUMPED = "sensor-jumped"
    """The value went further at once than fluid does by itself."""
    SENSOR_IS_COOLANT = "sensor-is-coolant"
    SENSOR_BELOW_AIR = "sensor-below-air"
    SOURCES_DISAGREE = "sources-disagree"
    """Thermometer and sensor contradict each other."""
    CLOCK_JUMPED = "clock-jumped"
    TEMPERATURE_UNCERTAIN = "temperature-uncertain"
    TOO_COLD = "too-cold"
    TOO_HOT = "too-hot"
    AT_WINDOW_EDGE = "at-window-edge"
    STAY_UNKNOWN = "stay-unknown"
    WINDOW_TOO_SHORT = "window-too-short"
    CLOSING_NEAR = "closing-near"
    """What was opened now would have to be closed at once, by the sheet's close_at."""
    ENGINE_UNKNOWN = "engine-unknown"
    ENGINE_STOPPED = "engine-stopped"
    ENGINE_TOO_SLOW = "engine-too-slow"
    ENGINE_TOO_FAST = "engine-too-fast"
    ENGINE_RUNNING = "engine-running"
    VOLTAGE_LOW = "voltage-low"
    CAUTIONS_OPEN = "cautions-not-confirmed"
    FIGURES_UNCHECKED = "figures-unchecked"
    """The sheet is a draft: its figures have not been checked a second time."""
    CAR_LEVEL_UNKNOWN = "car-level-unknown"
    CAR_NOT_LEVEL = "car-not-level"
    NOT_EXERCISED = "selector-not-exercised"
    SELECTOR_UNKNOWN = "selector-unknown"
    SELECTOR_WRONG = "selector-wrong"
    MOVEMENT_UNKNOWN = "movement-unknown"
    VEHICLE_MOVING = "vehicle-moving"
    DRIVE_NOT_SAFE = "drive-not-safe"
    """Nobody has seen to it that the car cannot start or move off by itself."""
    BRAKE_NOT_HELD = "brake-not-held"
    """The car stands in gear and nobody is named who sits at the brake."""
    WAIT_NOT_OVER = "wait-not-over"
    """The engine has not been as the sheet wants it for as long as it wants."""
    AIR_UNKNOWN = "air-unknown"
    """The sheet's window hangs on the air's temperature, which nobody told."""
    AIR_NOT_LISTED = "air-not-listed"
    """The sheet has no window for such air."""
    LEVEL_COMES_LATER = "level-comes-later"
    """This phase of the level sets none yet."""


@frozen
class SensorDoubt:
    """One doubt about the sensor, and what it rests on."""

    reason: Reason
    words: str


class ConditionState(StrEnum):
    """How one condition of a good level stands."""

    MET = "met"
    NOT_MET = "not-met"
    UNKNOWN = "unknown"
    NEEDLESS = "needless"
    """This phase of the level does not ask for it."""


class ConditionName(StrEnum):
    """The conditions of a good level, in the order the screen lists them."""

    LINK = "link"
    READING = "reading"
    TEMPERATURE = "temperature"
    STAYS = "stays"
    ENGINE = "engine"
    STANDING = "standing"
    VOLTAGE = "voltage"
    CAUTIONS = "cautions"
    CAR_LEVEL = "car-level"
    EXERCISE = "exercise"
    SELECTOR = "selector"
    FIGURES = "figures"
    DRIVE = "drive"
    BRAKE = "brake"
    DUE = "due"
    """The sheet's wait is over, and it is the phase that sets a level."""


class ToldBy(StrEnum):
    """Who says how a condition stands."""

    CAR = "car"
    PERSON = "person"


@frozen
class Condition:
    """One condition and, if it is not met, the reasons against it."""

    name: ConditionName
    state: ConditionState
    reasons: tuple[Reason, ...] = ()
    by: ToldBy = ToldBy.CAR
