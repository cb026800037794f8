"""What a person does and tells in a service, as events: what the log is made of."""

from __future__ import annotations

from enum import StrEnum

from bridge.values.frozen import frozen
from bridge.values.service_sheet import StepKind, Tick


class ServiceKind(StrEnum):
    """What an event of the service says."""

    DONE = "done"
    """A step is done; ``step``."""
    SKIPPED = "skipped"
    """A step is left out on purpose; ``step``, ``text`` says why."""
    NOTE = "note"
    """``text``, on a step."""
    VARIANT = "variant"
    """Which gearbox it is; ``name``."""
    AT_HAND = "at-hand"
    """A part, tool or fluid lies ready; ``name``."""
    TICKED = "ticked"
    """One thing at one fastener; ``name``, ``tick``; ``count``: which turn of the
    order of its bolts, from 1, None: all of it."""
    TORQUE = "torque"
    """What a fastener was tightened to; ``name``, ``torque_nm``."""
    OUT = "out"
    """An amount let out at a drain; ``name``, ``ml``, ``temp_c``."""
    IN = "in"
    """An amount filled in; ``ml``, ``temp_c``."""
    NEW_FLUID = "new-fluid"
    """How warm the new fluid is that lies ready; ``temp_c``."""
    ADDED = "added"
    """What was filled in at the level step; ``ml``. The level step's marks tell it,
    nobody enters it here (bridge.service.level_facts)."""
    RAN_OFF = "ran-off"
    """What the level step let out again; ``ml``, ``temp_c``."""
    EXERCISED = "exercised"
    """The selector was worked to the end; ``text`` says how long in each position."""
    OLD_FLUID = "old-fluid"
    """Something seen in the old fluid; ``name``."""
    ANSWERED = "answered"
    """Something that spoke against the job was investigated; ``name``, a Finding;
    ``text`` says what was found and done about it."""
    RAN_DRY = "ran-dry"
    """The engine turned while the gearbox was drained and not filled again. The
    session sees it, nobody enters it."""
    ODOMETER = "odometer"
    """``km``, before or after by ``step``."""
    CAR = "car"
    """What the car said of itself, before or after by ``step``; ``car``."""
    SEVERE = "severe"
    """The car is used hard, so the interval is shorter."""
    LEVEL = "level"
    """How the level was judged; ``name``, its outcome; ``count``, how many entries had
    been told by then; ``ml``, what was filled in since. The level step tells it."""
    LEVEL_BEFORE = "level-before"
    """A circuit's level was set in a phase that is behind; ``name``, the circuit,
    ``count`` and ``ml`` as of LEVEL. The level step tells it."""
    PARTICULAR = "particular"
    """Whose car, which one, who works on it; ``name`` (a Particular), ``text``."""
    FLUID_USED = "fluid-used"
    """What was filled in, by its can: ``name`` (product), ``text`` (specification),
    ``number`` (batch), ``ml``."""
    PART_USED = "part-used"
    """A part that was fitted; ``name``, ``number``, ``count``."""
    WASTE = "waste"
    """What was handed in; ``ml``, ``name`` (its kind), ``text`` (where)."""
    INSTRUMENT = "instrument"
    """What was measured or tightened with; ``name`` (an Instrument), ``text`` (which
    one), ``on`` (when it was calibrated)."""
    LEAK_CHECK = "leak-check"
    """``name`` (the place), ``text`` (a LeakFound)."""
    ROAD_TEST = "road-test"
    """``minutes``, ``temp_c`` (the fluid's highest), ``text``."""
    RECHECKED = "rechecked"
    """The level, checked once more afterwards; ``name`` (a LevelFound), ``text``."""
    HANDED_ON = "handed-on"
    """Something left to another was told to the customer; ``name``."""
    DUE = "due"
    """The date and distance the person was told; ``text``, ``km``."""
    COMPLETE = "complete"
    """The service is closed; ``text`` lists what was left open."""
    TAKEN_BACK = "taken-back"
    """ServiceEvent number ``back`` does not count any more."""


class Particular(StrEnum):
    """What is told of whose car it is, which one, and who works on it where."""

    CUSTOMER = "customer"
    PLATE = "plate"
    MODEL = "model"
    """The car in words."""
    VIN = "vin"
    """The vehicle's number as somebody typed it."""
    SHOP = "shop"
    MECHANIC = "mechanic"
    PLACE = "place"


class Instrument(StrEnum):
    """What a figure of the work comes from."""

    WRENCH = "wrench"
    THERMOMETER = "thermometer"
    SCALE = "scale"
    JUG = "jug"


class LeakFound(StrEnum):
    """How a place looks that could leak."""

    DRY = "dry"
    DAMP = "damp"
    LEAKS = "leaks"


class LevelFound(StrEnum):
    """How the level stood when it was checked once more."""

    RIGHT = "right"
    LOW = "low"
    HIGH = "high"


@frozen
class CarFacts:
    """What the car said of itself at one moment."""

    stored: tuple[str, ...] | None = None
    """Trouble codes, of each kind; None: not read."""
    pending: tuple[str, ...] | None = None
    permanent: tuple[str, ...] | None = None
    lamp: bool | None = None
    """The warning lamp; None: not known."""
    vin: str = ""
    voltage_v: float | None = None
    engine_rpm: float | None = None


@frozen
class ServiceEvent:
    """One thing the person did or told; see ServiceKind for what each field means.

    Whoever takes it stamps it with both times.
    """

    kind: ServiceKind
    t_s: float = 0.0
    """By the monitor's clock."""
    at_utc_s: float = 0.0
    """Seconds since 1970-01-01T00:00Z."""
    step: StepKind | None = None
    name: str = ""
    tick: Tick | None = None
    text: str = ""
    ml: float | None = None
    temp_c: float | None = None
    km: float | None = None
    kg: float | None = None
    """What ``ml`` was made of, where it was weighed."""
    torque_nm: float | None = None
    car: CarFacts | None = None
    number: str = ""
    count: int | None = None
    minutes: float | None = None
    on: str = ""
    """A date as ISO 8601 writes it; '' if none was told."""
    back: int | None = None
    who: str = ""
