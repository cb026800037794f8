"""What a profile file holds for one gearbox, as values."""

from __future__ import annotations

from dataclasses import field, fields, replace
from enum import StrEnum

from bridge.values.found import FigureSource, Found, Provenance
from bridge.values.frozen import frozen
from bridge.values.service_sheet import Circuit, Service


class Role(StrEnum):
    """What a signal of the car means to us; the words a sheet uses."""

    FLUID_TEMPERATURE = "fluid-temperature"
    COOLANT_TEMPERATURE = "coolant-temperature"
    AMBIENT_TEMPERATURE = "ambient-temperature"
    ENGINE_SPEED = "engine-speed"
    VEHICLE_SPEED = "vehicle-speed"
    ENGINE_RUN_TIME = "engine-run-time"
    MODULE_VOLTAGE = "module-voltage"
    SELECTOR = "selector"


UNIT_OF_ROLE: dict[Role, str] = {
    Role.FLUID_TEMPERATURE: "degC",
    Role.COOLANT_TEMPERATURE: "degC",
    Role.AMBIENT_TEMPERATURE: "degC",
    Role.ENGINE_SPEED: "rpm",
    Role.VEHICLE_SPEED: "km/h",
    Role.ENGINE_RUN_TIME: "s",
    Role.MODULE_VOLTAGE: "V",
    Role.SELECTOR: "",
}
"""The unit each role's value has inside the program (pint's spelling)."""


class EngineRule(StrEnum):
    """How the sheet wants the engine while the level is set."""

    IDLING = "idling"
    OFF = "off"
    KEY_OFF = "key-off"
    """Off, with the key out: the car tells nothing, so the person does."""
    PUMP = "pump"
    """Off, with the unit's own electric pump running; the person tells that it runs."""


class Drive(StrEnum):
    """What moves the car: whether it may start or move off by itself."""

    COMBUSTION = "combustion"
    HYBRID = "hybrid"
    ELECTRIC = "electric"


class LegEnd(StrEnum):
    """What ends one phase of a level that is set in several."""

    LEVEL = "level"
    """The level is set, as the method has it."""
    TOLD = "told"
    """The person says that its work is done."""
    WARM = "warm"
    """The fluid is inside its window; the person's word where nothing reads it."""


class LevelMethod(StrEnum):
    """How the surplus leaves the sump."""

    OVERFLOW_TUBE = "overflow-tube"
    LEVEL_PLUG = "level-plug"
    STICK = "stick"
    MEASURED_REFILL = "measured-refill"
    """No opening and no stick: what came out, and the filter's share, goes in."""


OPEN_C = 2000.0
"""An end this far out is no end: no fluid is ever there."""
_USUAL_WIDTH_C = 10.0
_ROOM_C = 20.0


@frozen
class Window:
    """Fluid temperatures between which the level may be set; low_c < high_c.

    An open end is written as -OPEN_C or OPEN_C.
    """

    low_c: float
    high_c: float

    @property
    def below_open(self) -> bool:
        """Whether no fluid is too cold for it."""
        return self.low_c <= -OPEN_C

    @property
    def above_open(self) -> bool:
        """Whether no fluid is too hot for it."""
        return self.high_c >= OPEN_C

    @property
    def any(self) -> bool:
        """Whether every temperature is right."""
        return self.below_open and self.above_open

    @property
    def closed(self) -> bool:
        """Whether it has two ends: then the level is meant for its middle."""
        return not (self.below_open or self.above_open)

    @property
    def drawn(self) -> Window:
        """The same, an open end put where a plot or a way back needs one."""
        if self.any or self == NO_WINDOW:
            return Window(low_c=_ROOM_C - 5.0, high_c=_ROOM_C + 5.0)
        low_c = self.high_c - _USUAL_WIDTH_C if self.below_open else self.low_c
        return Window(
            low_c=low_c,
            high_c=low_c + _USUAL_WIDTH_C if self.above_open else self.high_c,
        )

    @property
    def middle_c(self) -> float:
        """Its middle; with one end that end itself."""
        if self.below_open == self.above_open:
            return 0.5 * (self.low_c + self.high_c) if self.closed else _ROOM_C
        return self.high_c if self.below_open else self.low_c


ANY_WINDOW = Window(low_c=-OPEN_C, high_c=OPEN_C)
NO_WINDOW = Window(low_c=1000.0, high_c=1001.0)
"""Of a sheet that needs none (measured refill): no fluid is ever inside it."""


class Confirmation(StrEnum):
    """What a sheet may want the person to confirm before the gate opens."""

    CAUTIONS = "cautions"
    CAR_LEVEL = "car-level"
    SELECTOR_EXERCISED = "selector-exercised"
    SELECTOR_POSITION = "selector-position"
    ENGINE = "engine"
    """That the engine is as the sheet wants it, where no adapter tells."""
    STANDING = "standing"
    """That the car stands, where no adapter tells."""
    SENSOR = "sensor"
    """Why the value jumped or started off apart: it is known, and no fault."""
    FIGURES = "figures"
    """That a draft's window and torques were held against the document again."""
    DRIVE_SAFE = "drive-safe"
    """That a hybrid or electric car cannot stir by itself; who saw to it."""
    BRAKE_HELD = "brake-held"
    """Who sits at the brake, and who lies under a car that stands in gear."""


WORD_OF_MOUTH = (Confirmation.ENGINE, Confirmation.STANDING)
"""What the person stands in for the car with; no sheet asks for them."""
NAMED = (Confirmation.DRIVE_SAFE, Confirmation.BRAKE_HELD)
"""What is confirmed by name; the drive, or a selector out of park, asks for it."""
UNASKED = (*WORD_OF_MOUTH, Confirmation.SENSOR, Confirmation.FIGURES, *NAMED)
ASKED = tuple(c for c in Confirmation if c not in UNASKED)
"""What a sheet may want confirmed; a draft's figures are without its asking."""


@frozen
class Signal:
    """Where one value of the car is found and how its bytes are read.

    ``factor`` and ``offset`` already give the role's own unit (UNIT_OF_ROLE),
    whatever unit the sheet was written in.
    """

    role: Role
    service: int = 0
    """0: not asked for, but broadcast (see ``pgn``)."""
    identifier: int = 0
    request_id: int | None = None
    """Whom the request goes to: a CAN id, or on older buses a one-byte address.
    None: a standard PID, wherever it is answered."""
    reply_id: int | None = None
    """Who must answer: a CAN id or a one-byte address; None: the engine unit found
    at connecting. For a broadcast group: its source address, None: any."""
    pgn: int | None = None
    """J1939 parameter group that carries the signal; None: it is asked for."""
    first_byte: int = 0
    """Index of the signal's first byte after the echo of service and identifier."""
    length: int = 1
    data_length: int = 1
    """Bytes after the echo in the whole answer; any other count is refused."""
    signed: bool = False
    byte_order: str = "big"
    factor: float = 1.0
    offset: float = 0.0
    not_available: tuple[int, ...] = ()
    """Raw values that mean 'no reading'."""
    minimum: float | None = None
    """Lowest believable value in the role's unit; None: whatever the bytes allow."""
    maximum: float | None = None
    accuracy_c: float | None = None
    """Of a temperature: how far off the sensor may be either way; None: not stated."""
    labels: tuple[tuple[int, str], ...] = ()
    """For the selector: raw value -> position. Empty: the number is the value."""


@frozen
class StickMarks:
    """Between which heights the fluid must stand on the stick at one temperature."""

    temp_c: float
    low_mm: float
    """From the stick's own zero."""
    high_mm: float


@frozen
class AirWindow:
    """The window that holds while the outside air is inside a span of its own."""

    air: Window
    window: Window


@frozen
class Leg:
    """One phase of a level that is set in several; None: as [level] has it."""

    name: str
    ends: LegEnd = LegEnd.LEVEL
    lines: tuple[str, ...] = ()
    """What is done in it, one line each."""
    circuit: str = ""
    """Whose level it sets; '': the sheet has but one fluid."""
    window: Window | None = None
    engine: EngineRule | None = None
    method: LevelMethod | None = None
    close_at_c: float | None = None
    settle_time_s: float | None = None
    selector_position: str | None = None
    wait_s: float | None = None


@frozen
class Sheet(Provenance):
    """What a profile file holds for one gearbox."""

    name: str
    source: str
    window: Window = NO_WINDOW
    figures: tuple[FigureSource, ...] = ()
    """Where single figures come from, if not from where the others do."""
    close_at_c: float | None = None
    """The fluid temperature at which the opening is closed, whatever still runs;
    None: it is closed when the stream breaks into drips."""
    drive: Drive = Drive.COMBUSTION
    engine: EngineRule = EngineRule.IDLING
    wait_s: float = 0.0
    """For so long the engine must have been as the sheet wants it."""
    air_windows: tuple[AirWindow, ...] = ()
    """The window by the air's temperature, the coldest air first; empty: it is one."""
    legs: tuple[Leg, ...] = ()
    """The phases the level is set in, in order; empty: there is but one."""
    ends: LegEnd = LegEnd.LEVEL
    """What ends the phase this sheet was made for; see `at`."""
    settle_time_s: float | None = None
    """Usual time from opening until less than ``drop_rate_per_s`` comes; None: it is
    not stated, and reckoned from opening and surface (`settling/outflow`)."""
    drop_rate_per_s: float = 1.0
    """Settled below so many drops a second: the stream has broken into drips."""
    stay_chance: float = 0.9
    """Least chance, 0..1, of staying inside while the surplus settles."""
    idle_low_rpm: float = 500.0
    idle_high_rpm: float = 1100.0
    method: LevelMethod = LevelMethod.OVERFLOW_TUBE
    protocol: str = "auto"
    """'auto', or the adapter's protocol digit: '1' to '5' the buses before CAN, '6'
    to '9' CAN, 'A' J1939."""
    confirm: tuple[str, ...] = ()
    """What the person must confirm (Confirmation's words); the gate waits for it."""
    selector_position: str = ""
    """Where the selector must stand, as its labels name it; '' if no matter."""
    fill_ml: float | None = None
    """All the fluid with the level right; None: the size of an error is not told."""
    sump_area_cm2: float | None = None
    """Free surface at the level opening."""
    bore_mm: float | None = None
    """Inner width of the level opening; None: a usual one."""
    opening_forward_mm: float = 0.0
    opening_right_mm: float = 0.0
    """Where the level opening lies from the middle of that surface."""
    tilt_limit_deg: float | None = None
    """How far the car may lean; None: the sheet does not say."""
    viscosity_40_mm2_s: float | None = None
    viscosity_100_mm2_s: float | None = None
    density_kg_m3: float | None = None
    """Of the fluid at 15 °C; None: the usual."""
    extended_session: bool = False
    """Whether the fluid's unit answers only in an extended session (ISO 14229-1)."""
    signals: tuple[Signal, ...] = ()
    stick: tuple[StickMarks, ...] = ()
    """Its marks by temperature; empty: the person reads them off the stick."""
    found: Found | None = None
    """None: the fluid's signal comes from a document, not from a search."""
    cautions: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    """The level step in the maker's order, one line each; may be empty."""
    service: Service = field(default_factory=Service)
    """The whole service around the level; empty if the sheet tells the level only."""
    origin: str = ""
    """Where the sheet came from: a path, or the name of a shipped sheet."""

    @property
    def in_gear(self) -> bool:
        """Whether the selector must stand out of park: someone holds the brake."""
        return self.selector_position.casefold() not in ("", "p", "park")

    @property
    def confirmations(self) -> tuple[Confirmation, ...]:
        """All that must be confirmed: what the sheet asks for, and what follows."""
        must = [Confirmation(c) for c in self.confirm]
        must += [Confirmation.DRIVE_SAFE] if self.drive is not Drive.COMBUSTION else []
        return (*must, *([Confirmation.BRAKE_HELD] if self.in_gear else []))

    @property
    def wants_air(self) -> bool:
        """Whether its window hangs on the air, and that was not told yet (see `at`)."""
        return bool(self.air_windows) and self.window == NO_WINDOW

    @property
    def has_level_step(self) -> bool:
        """Whether the level is set at an opening or a stick, inside a window."""
        return self.method is not LevelMethod.MEASURED_REFILL

    def at(self, leg: int, row: int | None = None) -> Sheet:
        """Return the sheet as it holds in one phase of its level, from 0.

        ``row``: of ``air_windows``; None: the air is not known, or in none of them.
        """
        if self.air_windows and row is not None:
            self = replace(self, window=self.air_windows[row].window)
        if not self.legs:
            return self
        phase = self.legs[leg]
        own = {
            name: value
            for name in _OF_LEG
            if (value := getattr(phase, name)) is not None
        }
        return replace(self.of_circuit(phase.circuit), **own)

    def of_circuit(self, name: str) -> Sheet:
        """Return the sheet as it holds in one of several circuits; itself for ''."""
        for one in self.service.circuits:
            if one.name == name:
                own = {f: getattr(one, f) for f in _OF_CIRCUIT}
                service = {f: getattr(one, f) for f in _OF_CIRCUITS_SERVICE}
                return replace(self, **own, service=replace(self.service, **service))
        return self

    @property
    def sensor_accuracy_c(self) -> float | None:
        """How far off the fluid's sensor may be either way; None: not stated."""
        signal = self.signal(Role.FLUID_TEMPERATURE)
        return signal.accuracy_c if signal else None

    def signal(self, role: Role) -> Signal | None:
        """Return the sheet's signal for a role, or None if the sheet has none."""
        return next((s for s in self.signals if s.role is role), None)


def _shared(part: type, whole: type) -> tuple[str, ...]:
    """Return the fields of a part that stand for the whole's of the same name."""
    names = {f.name for f in fields(whole)} - {"name"}
    return tuple(f.name for f in fields(part) if f.name in names)


_OF_LEG = _shared(Leg, Sheet)
_OF_CIRCUIT = _shared(Circuit, Sheet)
_OF_CIRCUITS_SERVICE = _shared(Circuit, Service)
