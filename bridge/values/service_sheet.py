"""What a sheet says of the whole service, around the level: parts, plugs, volumes.

Everything may be missing; an empty Service is a sheet that knows the level step only.
Names are the sheet's own words and tie things together: a drain names the fastener
that closes it, a part or a fastener names the variants it is for.
"""

from __future__ import annotations

from enum import StrEnum

from bridge.values.frozen import frozen


class StepKind(StrEnum):
    """The steps a service can have; the words of ``order`` in a sheet's [steps].

    The order here is the usual one (common practice, no source); the sheet's wins.
    """

    CAUTIONS = "cautions"
    IDENTIFY = "identify"
    PARTS = "parts"
    BEFORE = "before"
    FILL_PLUG = "fill-plug"
    DRAIN = "drain"
    OLD_FLUID = "old-fluid"
    FILTER = "filter"
    REFIT = "refit"
    FILL = "fill"
    EXERCISE = "exercise"
    LEVEL = "level"
    CLOSING = "closing"
    RECHECK = "recheck"
    AFTER = "after"
    DUE = "due"


class PartKind(StrEnum):
    """What something to have at hand is."""

    PART = "part"
    TOOL = "tool"
    FLUID = "fluid"


class Renewal(StrEnum):
    """What is used once and must be new when a fastener goes back in."""

    WASHER = "washer"
    SEAL = "seal"
    PLUG = "plug"
    BOLT = "bolt"
    O_RING = "o-ring"


class Tick(StrEnum):
    """What is ticked off at one fastener."""

    RENEWED = "renewed"
    TIGHTENED = "tightened"
    ANGLE = "angle"
    BACKED_OFF = "backed-off"


@frozen
class Variant:
    """One gearbox the car may have; they look alike and are serviced differently."""

    name: str
    look_for: str
    """What tells it from the others."""
    fits: bool = True
    """Whether this sheet is for it; False: its figures must not be used."""
    instead: str = ""
    """Where its figures are, if the sheet is not for it."""


@frozen
class Part:
    """Something to have at hand before the work begins."""

    name: str
    kind: PartKind = PartKind.PART
    count: int = 1
    one_use: bool = False
    number: str = ""
    """The maker's part number."""
    size: str = ""
    """Of a tool: its size, drive or adapter."""
    note: str = ""
    only_for: tuple[str, ...] = ()
    """Names of the variants it is for; empty: all."""


@frozen
class Fastener:
    """A plug, tube or cover and how it goes back."""

    name: str
    drive: str = ""
    """Drive and size: 'hex socket 8 mm'."""
    thread: str = ""
    """'M14x1.5' (ISO 261); '' if not told."""
    count: int = 1
    number: str = ""
    """The maker's part number."""
    sequence: tuple[int, ...] = ()
    """The order in which a set of bolts is tightened, by their numbers from 1."""
    stages_nm: tuple[float, ...] = ()
    """Torques of the stages before the last one, each above the one before."""
    torque_nm: float | None = None
    torque_tolerance_nm: float | None = None
    angle_deg: float | None = None
    """Further angle after the torque, or after hand tight."""
    angle_tolerance_deg: float | None = None
    turns_back: float | None = None
    """Turns to back off after seating (an overflow tube)."""
    hand_tight: bool = False
    plastic: bool = False
    """Do not overtighten."""
    renew: tuple[Renewal, ...] = ()
    step: StepKind = StepKind.REFIT
    """The step in which it is ticked off."""
    note: str = ""
    only_for: tuple[str, ...] = ()

    @property
    def turns(self) -> int:
        """How often a wrench goes on in its order: each bolt in each stage; 0: none."""
        return len(self.sequence) * (len(self.stages_nm) + 1)

    def turn(self, number: int) -> tuple[int, float | None]:
        """Return the bolt and the torque (N*m; None: not told) of a turn, from 1."""
        stage, place = divmod(number - 1, len(self.sequence))
        return self.sequence[place], (*self.stages_nm, self.torque_nm)[stage]


@frozen
class Drain:
    """One place where fluid is let out."""

    name: str
    circuit: str = ""
    """Name of the Circuit it empties; '': the sheet has none."""
    fastener: str = ""
    """Name of the Fastener that closes it."""
    expected_ml: float | None = None
    portion_ml: float | None = None
    """Pumped out in portions of so much, each filled in again; None: all at once."""
    pressure: bool = False
    """Stands under pressure: it can spray when it is opened."""
    sideways: bool = False
    """Runs out sideways: the pan must stand off to the side."""
    note: str = ""
    only_for: tuple[str, ...] = ()


@frozen
class Circuit:
    """One of several fluids in one housing, which must never mix.

    Each field but the name stands in that circuit for the Sheet's or the Service's of
    the same name.
    """

    name: str
    fluid_name: str
    fluid_number: str = ""
    forbidden_fluids: tuple[str, ...] = ()
    rounds: int = 1
    fill_ml: float | None = None
    """All of it with its level right."""
    density_kg_m3: float | None = None
    viscosity_40_mm2_s: float | None = None
    viscosity_100_mm2_s: float | None = None
    service_fill_ml: float | None = None
    service_fill_tolerance_ml: float | None = None
    service_fill_temp_c: float = 20.0
    filter_holds_ml: float | None = None
    sump_area_cm2: float | None = None
    bore_mm: float | None = None
    opening_forward_mm: float = 0.0
    opening_right_mm: float = 0.0


@frozen
class Exercise:
    """How the selector is worked before the level is set."""

    positions: tuple[str, ...]
    hold_s: float = 5.0
    rounds: int = 1


@frozen
class Interval:
    """When the service is due again."""

    distance_km: float | None = None
    months: int | None = None
    days: int | None = None
    """Instead of months, where the sheet's time is no whole number of them."""
    look_distance_km: float | None = None
    look_months: int | None = None
    """When the fluid is checked between two services; None: not stated."""
    severe_factor: float = 0.5
    """Share of the interval left under severe use; half is common practice."""
    severe: tuple[str, ...] = ()
    """What counts as severe use, one line each."""


@frozen
class Service:
    """The whole service as the sheet tells it."""

    order: tuple[StepKind, ...] = ()
    """The steps in the sheet's order; empty: the level step alone."""
    lines: tuple[tuple[StepKind, tuple[str, ...]], ...] = ()
    """What the sheet says of each step, one instruction a line."""
    variants: tuple[Variant, ...] = ()
    parts: tuple[Part, ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    drains: tuple[Drain, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    """Several fluids in one housing; empty: there is one."""
    exercise: Exercise | None = None
    interval: Interval | None = None
    fluid_name: str = ""
    """What the fluid must meet, in the maker's words."""
    fluid_number: str = ""
    forbidden_fluids: tuple[str, ...] = ()
    """What must not be filled in, whatever its can says."""
    rounds: int = 1
    """How many times it is drained and filled in one service."""
    licensed_tool: tuple[str, ...] = ()
    """What only a licensed tool may do afterwards; sumpgate never does it."""
    service_fill_ml: float | None = None
    """What a service usually takes, at ``service_fill_temp_c``."""
    service_fill_tolerance_ml: float | None = None
    service_fill_temp_c: float = 20.0
    filter_holds_ml: float | None = None
    """What stays in the old filter, and a new one takes up."""
    tube_pitch_mm: float | None = None
    """Thread pitch of the overflow tube."""

    def lines_of(self, step: StepKind) -> tuple[str, ...]:
        """Return what the sheet says of a step; empty if nothing."""
        return dict(self.lines).get(step, ())
