"""The values that travel through sumpgate: sheet, reading, snapshot.

Every number is a float in the unit its name ends with (``temp_c``, ``age_s``).
All values are frozen; whoever wants another one makes another one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from bridge.core.sheet import ASKED as ASKED
from bridge.core.sheet import UNIT_OF_ROLE as UNIT_OF_ROLE
from bridge.core.sheet import WORD_OF_MOUTH as WORD_OF_MOUTH
from bridge.core.sheet import Checkpoint as Checkpoint
from bridge.core.sheet import Confirmation as Confirmation
from bridge.core.sheet import EngineRule as EngineRule
from bridge.core.sheet import Found as Found
from bridge.core.sheet import LevelMethod as LevelMethod
from bridge.core.sheet import Role as Role
from bridge.core.sheet import Sheet as Sheet
from bridge.core.sheet import Signal as Signal
from bridge.core.sheet import Window as Window

if TYPE_CHECKING:
    from bridge.core.believe import Doubt
    from bridge.core.procedure_model import Step
    from bridge.core.thermometer import Hand


class LinkState(StrEnum):
    """How the link stands. 'live' also means that answers arrive in time."""

    CONNECTING = "connecting"
    LIVE = "live"
    SILENT = "silent"
    LOST = "lost"


class FaultKind(StrEnum):
    """Why a request brought no value."""

    REFUSED = "refused"
    """A negative response (ISO 14229-1), named in the detail."""
    NO_DATA = "no-data"
    ADAPTER_SAID = "adapter-said"
    """The adapter sent a status text instead of an answer."""
    BAD_REPLY = "bad-reply"
    """An answer that is cut, foreign, stale or garbled; the detail says which."""
    NOT_AVAILABLE = "not-available"
    """The control unit answered with the raw value that means 'no reading'."""
    OUT_OF_RANGE = "out-of-range"
    """A value outside what the sheet says the sensor can give."""
    SILENT = "silent"
    LOST = "lost"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One accepted value of the car, stamped when its last byte arrived."""

    role: Role
    value: float
    """In the unit of the role (UNIT_OF_ROLE)."""
    t_s: float
    raw: bytes = b""
    """The payload it was read from, echo included; empty in a replayed trace."""
    label: str = ""
    """The selector's position as the sheet names it; '' for plain numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One request that brought no value, or a link that broke."""

    kind: FaultKind
    t_s: float
    detail: str
    role: Role | None = None
    """None: the fault concerns the link as a whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleCodes:
    """What the control units have stored against themselves, read at one time.

    A list is None where no unit told; empty where there is no code.
    """

    t_s: float
    stored: tuple[str, ...] | None
    pending: tuple[str, ...] | None
    permanent: tuple[str, ...] | None
    mil: bool | None
    """Whether any unit has the warning lamp on; None: no unit told."""


class CheckDigit(StrEnum):
    """Whether a vehicle's identification number agrees with itself."""

    RIGHT = "right"
    WRONG = "wrong"
    NOT_CHECKED = "not checked"


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleNumber:
    """The vehicle's identification number as the engine unit gives it."""

    t_s: float
    text: str
    check_digit: CheckDigit


class Trend(StrEnum):
    """Where the temperature is going."""

    WARMING = "warming"
    COOLING = "cooling"
    STEADY = "steady"
    UNKNOWN = "unknown"


class Outlook(StrEnum):
    """Whether the forecast has something to say."""

    TELLING = "telling"
    CANNOT_TELL = "cannot-tell"
    MAY_NEVER = "may-never"
    """Less than an even chance of reaching the window within the horizon."""
    LEARNING = "learning"
    """Conditions changed a moment ago; numbers come back within about a minute."""


HORIZON_S = 3600.0
"""How far ahead a forecast looks, in seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """When the fluid crosses into, or out of, the window: seconds from now.

    A quantile is None where it lies beyond the horizon (HORIZON_S); ``chance``
    (0..1) is the probability that it happens within the horizon.
    """

    p05_s: float | None
    p50_s: float | None
    p95_s: float | None
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """The present temperature as the estimator sees it."""

    temp_c: float
    temp_sd_c: float
    rate_c_per_s: float
    rate_sd_c_per_s: float
    trend: Trend


@dataclass(frozen=True, slots=True, kw_only=True)
class Lean:
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
    """Why not. One value for each condition of the gate; wording: tui.present."""

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
    ENGINE_UNKNOWN = "engine-unknown"
    ENGINE_STOPPED = "engine-stopped"
    ENGINE_TOO_SLOW = "engine-too-slow"
    ENGINE_TOO_FAST = "engine-too-fast"
    ENGINE_RUNNING = "engine-running"
    VOLTAGE_LOW = "voltage-low"
    CAUTIONS_OPEN = "cautions-not-confirmed"
    CAR_LEVEL_UNKNOWN = "car-level-unknown"
    CAR_NOT_LEVEL = "car-not-level"
    NOT_EXERCISED = "selector-not-exercised"
    SELECTOR_UNKNOWN = "selector-unknown"
    SELECTOR_WRONG = "selector-wrong"
    MOVEMENT_UNKNOWN = "movement-unknown"
    VEHICLE_MOVING = "vehicle-moving"


class ConditionState(StrEnum):
    """How one condition of a good level stands."""

    MET = "met"
    NOT_MET = "not-met"
    UNKNOWN = "unknown"


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


class ToldBy(StrEnum):
    """Who says how a condition stands."""

    CAR = "car"
    PERSON = "person"


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """One condition and, if it is not met, the reasons against it."""

    name: ConditionName
    state: ConditionState
    reasons: tuple[Reason, ...] = ()
    by: ToldBy = ToldBy.CAR


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
    """What the link last complained about, in words; '' if nothing."""
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
    lean: Lean | None = None
    """What the car's tilt is worth, if the person typed it in."""
    faults: tuple[tuple[Role, Fault], ...] = field(default=())
    """The standing fault of each signal that has one."""
    codes: TroubleCodes | None = None
    """The trouble codes last read."""
    vin: VehicleNumber | None = None
    doubts: tuple[Doubt, ...] = ()
    """Doubts about the sensor, with what they rest on."""
    hand: Hand | None = None
    """How the hand thermometer stands; None: there is none."""
