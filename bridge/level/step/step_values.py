"""The values of the level step: phases, marks, instructions, bells, the step itself."""

from __future__ import annotations

from enum import StrEnum
from itertools import pairwise

from bridge.level.budget import Budget
from bridge.level.settling.settle_time import SettleTime
from bridge.level.settling.settle_values import Settling
from bridge.level.step.stick import StickRead, StickResult
from bridge.level.volume import LevelError
from bridge.values.conditions import Reason, TiltWorth, Verdict
from bridge.values.frozen import frozen
from bridge.values.outlook import Crossing, Outlook, Trend
from bridge.values.sheet import (
    Confirmation,
    LegEnd,
    LevelMethod,
    Window,
)


class Phase(StrEnum):
    """Where the step stands."""

    PREPARE = "prepare"
    WAIT = "wait"
    GET_READY = "get-ready"
    GO = "go"
    RUNNING_DOWN = "running-down"
    SETTLED = "settled"
    CLOSE = "close"
    CLOSED = "closed"
    JUDGED = "judged"
    LOW = "low"
    MISSED = "missed"


OPEN_PHASES = frozenset({Phase.RUNNING_DOWN, Phase.SETTLED, Phase.CLOSE, Phase.LOW})
"""The level plug is out."""
BEFORE_OPENING = frozenset(
    {Phase.PREPARE, Phase.WAIT, Phase.GET_READY, Phase.GO, Phase.MISSED}
)


class Instruction(StrEnum):
    """What to do now; one imperative line each (tui/words/instructions)."""

    CONFIRM = "confirm"
    MEET_CONDITIONS = "meet-conditions"
    WAIT_WARMING = "wait-warming"
    WAIT_COOLING = "wait-cooling"
    WAIT_READING = "wait-reading"
    WAIT = "wait"
    TOO_SHORT = "too-short"
    MAY_NEVER = "may-never"
    GET_UNDER = "get-under"
    STAND_BY = "stand-by"
    """Inside already, but the gate does not say GO yet."""
    OPEN_NOW = "open-now"
    WATCH = "watch"
    STREAM_GOES_ON = "stream-goes-on"
    READING_LOST = "reading-lost"
    CLOSE_SETTLED = "close-settled"
    CLOSE_TIMER = "close-timer"
    """The sheet's time is over; the flow was not marked."""
    CLOSE_WINDOW = "close-window"
    CLOSE_OUTSIDE = "close-outside"
    WATCH_HEAT = "watch-heat"
    """The sheet closes at a temperature: how much still runs does not matter."""
    CLOSE_AT = "close-at"
    """That temperature is there, or will be when the hand has closed it."""
    CLOSE_CONDITION = "close-condition"
    CLOSE_BLIND = "close-blind"
    CLOSE_OVERDUE = "close-overdue"
    ADD_FLUID = "add-fluid"
    TIGHTEN = "tighten"
    JUDGED_GOOD = "judged-good"
    JUDGED_AGAIN = "judged-again"
    COOL_DOWN = "cool-down"
    WARM_UP = "warm-up"
    WARM_FIRST = "warm-first"
    """The engine must be off for the level, and idles still to warm the fluid up."""
    GET_TO_STICK = "get-to-stick"
    HOLD_STICK = "hold-stick"
    """Inside already, but the gate does not say GO yet."""
    READ_STICK = "read-stick"
    READ_AGAIN = "read-again"
    """The readings do not settle it yet."""
    WAIT_OUT = "wait-out"
    """Nothing but the sheet's wait is missing."""
    DO_PHASE = "do-phase"
    """This phase sets no level: do its work and say so."""
    WAIT_HEAT = "wait-heat"
    """This phase ends when the fluid is warm enough."""
    TELL_HEAT = "tell-heat"
    """The same, and nothing reads the fluid: the person's word ends it."""
    SHIFT = "shift"
    """The selector must come out of park, and nobody may lie under the car then."""
    COME_OUT = "come-out"
    """What stood still moved with somebody under the car: that comes first."""
    TOP_UP = "top-up"
    DRAW_OFF = "draw-off"


class Bell(StrEnum):
    """What the terminal bell says; each can be muted."""

    GET_READY = "get-ready"
    OPEN = "open"
    CLOSE = "close"
    TROUBLE = "trouble"


class Outcome(StrEnum):
    """How the step ended. It informs; the maker's window decides."""

    GOOD = "good"
    """Inside the window from opening to closing, and settled."""
    NOT_OBSERVED = "not-observed"
    """Inside, and the sheet's time was over; that it had settled was not marked."""
    STILL_RUNNING = "still-running"
    """Inside, but closed before it had settled: the level is high."""
    OUTSIDE = "outside"
    """The window was left with the plug open, or it was opened outside."""
    NOTHING_CAME = "nothing-came"
    """Closed with nothing having run out: the level is low."""
    UNKNOWN = "unknown"
    """Part of it went without a believable temperature, or it cannot be told."""
    DISTURBED = "disturbed"
    """Engine, selector or car were not as the sheet wants with the plug out."""
    OFF_TEMPERATURE = "off-temperature"
    """Closed at another temperature than the one the sheet closes at."""
    BELOW = "below"
    """By the stick: below its marks."""
    ABOVE = "above"
    """By the stick: above its marks."""


@frozen
class StepView:
    """The part of a snapshot that the level step decides on."""

    verdict: Verdict = Verdict.NO_GO
    reasons: tuple[Reason, ...] = ()
    temp_c: float | None = None
    """None: no believable reading now."""
    temp_sd_c: float | None = None
    rate_c_per_s: float | None = None
    trend: Trend = Trend.UNKNOWN
    opens: Crossing | None = None
    """When the fluid enters the window; all zeros while it is inside."""
    shuts: Crossing | None = None
    """When it then leaves the window."""
    outlook: Outlook = Outlook.CANNOT_TELL
    settles_at_c: float | None = None
    """Where the temperature is heading if nothing changes."""
    stay_chance: float | None = None
    """Chance, 0..1, of staying inside for the sheet's settle time from now."""
    stays_s: float | None = None
    """For how long from now it stays inside with the sheet's chance, if it is inside;
    None: the forecast does not tell."""
    tilt: TiltWorth | None = None
    """What the car's tilt is worth, if the person typed it in."""
    wait_left_s: float | None = None
    """Until the engine has been as the sheet wants it for as long as it wants; 0: it
    has, or the sheet wants no wait; None: it is not as the sheet wants it."""

    def says_go(self, window: Window, least_chance: float) -> bool:
        """Return whether GO stands: the gate's word, and no figure here denies it.

        The one place that asks. The gate has decided; this guards step, screen and
        phone against values that contradict its word, which would be a fault of ours.
        ``least_chance``: the sheet's chance of staying inside, 0..1.
        """
        said = self.verdict is Verdict.GO and not self.reasons
        if window.any:
            return said
        return (
            said
            and self.temp_c is not None
            and window.low_c <= self.temp_c <= window.high_c
            and self.stay_chance is not None
            and self.stay_chance >= least_chance
        )


@frozen
class TempSeen:
    """A believable temperature and when it was the present one."""

    at_s: float
    temp_c: float
    sd_c: float


@frozen
class Judgement:
    """How the level was set. It informs; the maker's window decides."""

    outcome: Outcome
    opened: TempSeen | None
    """The temperature at opening; None: not known."""
    closed: TempSeen | None
    open_s: float
    inside: bool | None
    """Inside the window all the while; None: not known for part of it."""
    settled_chance: float
    """How likely the surplus had settled when the plug went in, 0..1."""
    timer_only: bool
    """True: the flow was not marked; 'settled' is the sheet's time alone."""
    on_go: bool
    """Whether it was opened while GO stood."""
    overdue_s: float | None
    """From the call to close to the plug being in; None: closed before any call."""
    claimed: float | None
    """The chance of staying inside that was claimed at opening."""
    error: LevelError | None
    """What the temperature at closing makes of the level; None: cannot be told."""
    budget: Budget | None
    """What all sources of doubt make of the level; None: cannot be told."""
    added_ml: float
    stick: StickResult | None = None
    """What the stick's readings came to; None: it was no stick."""


@frozen
class LegDone:
    """A phase of the level that is behind."""

    at_s: float
    outcome: Outcome | None = None
    """None: it set no level."""
    seen: bool = False
    """Whether the readings ended it; else the person's word did."""
    added_ml: float = 0.0
    """What had been filled in at the level step until then, in all phases."""
    added_after_ml: float = 0.0
    """Of that, what was filled in after this phase was judged."""
    log_length: int | None = None
    """How much had been told of the service when it was judged; None: not known."""


@frozen
class Step:
    """The state of the step. Times ending in ``at_s`` are of the caller's clock."""

    method: LevelMethod = LevelMethod.OVERFLOW_TUBE
    ends: LegEnd = LegEnd.LEVEL
    air_c: float | None = None
    """The outside air as the person told it; None: as the car does."""
    air_row: int | None = None
    """Which of the sheet's windows by the air holds; None: not known, or it has one."""
    by_air: bool = False
    """Whether the sheet's window hangs on the air."""
    leg: int = 0
    """Which phase of the level is led, from 0."""
    legs: int = 1
    legs_done: tuple[LegDone, ...] = ()
    phase: Phase = Phase.PREPARE
    instruction: Instruction = Instruction.CONFIRM
    bell: Bell | None = None
    """Rung by the last ``advance``; None: silence."""
    rung_at_s: float | None = None
    rung: Bell | None = None
    now_at_s: float = 0.0
    phase_at_s: float = 0.0
    confirmed: tuple[Confirmation, ...] = ()
    attempt: int = 1
    seen: TempSeen | None = None
    """The last believable temperature."""
    shuts_at_s: float | None = None
    """Until when the fluid stays inside, as last told; None: not told."""
    doubt_at_s: float | None = None
    """Since when there is no believable temperature; None: there is one."""
    waver_at_s: float | None = None
    """Since when engine or car are not as they must be; None: they are."""
    opened_at_s: float | None = None
    opened: TempSeen | None = None
    on_go: bool = False
    claimed: float | None = None
    left_window: bool = False
    """The temperature was outside while the plug was open."""
    went_blind: bool = False
    disturbed: bool = False
    """Engine, selector or car were not as they must be while the plug was open."""
    expected: SettleTime | None = None
    """Settle time as expected at opening."""
    drips_s: tuple[float, ...] = ()
    """Marks, in s since opening."""
    streaming_s: float | None = None
    blind_s: tuple[tuple[float, float], ...] = ()
    """Spans since opening in which nothing could be marked."""
    settling: Settling | None = None
    settling_at_s: float | None = None
    ran: bool = False
    """Something came out since the last time nothing did."""
    nothing_came: bool = False
    close_at_s: float | None = None
    """When closing was first called for."""
    closed_at_s: float | None = None
    closed: TempSeen | None = None
    added_ml: float = 0.0
    added_temp_c: float | None = None
    """How warm what was added was, by volume; None: not told of all of it."""
    closes_in_s: float | None = None
    """Until the temperature the sheet closes at, at the present rate; None: it names
    none, or that cannot be told."""
    begins_again_s: float | None = None
    """After a miss: seconds until it may begin again; None: cannot be told."""
    reads: tuple[StickRead, ...] = ()
    """Of the stick, since something was filled in last."""
    judgement: Judgement | None = None
    past: tuple[Step, ...] = ()
    """Earlier states, for UNDO; none of them has a past."""

    @property
    def plug_open(self) -> bool:
        """Whether the level plug is out, as far as was marked."""
        return self.phase in OPEN_PHASES

    @property
    def added_in_legs(self) -> tuple[float, ...]:
        """What was filled in in each phase so far, in mL."""
        sums = (0.0, *(done.added_ml for done in self.legs_done), self.added_ml)
        return tuple(after - before for before, after in pairwise(sums))

    @property
    def last_leg(self) -> bool:
        """Whether no further phase of the level follows."""
        return self.leg + 1 >= self.legs

    @property
    def may_go_on(self) -> bool:
        """Whether the person may say now that this phase is done."""
        if self.last_leg:
            return False
        if self.ends is LegEnd.LEVEL:
            judged = self.judgement
            return judged is not None and judged.outcome is Outcome.GOOD
        return self.instruction in (Instruction.DO_PHASE, Instruction.TELL_HEAT)
