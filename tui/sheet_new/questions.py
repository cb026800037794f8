"""The questions of `sheet new`, in order, and the interview that asks them. No I/O."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from bridge.sheets.keys.all_keys import SECTIONS
from bridge.units import Dimension, Units, parse_quantity
from bridge.values.frozen import frozen
from bridge.values.service_sheet import Renewal
from bridge.values.sheet import EngineRule, LevelMethod
from tui.sheet_new import answer_reading
from tui.sheet_new.answer_reading import AnswerError, Reader, sign, unit_of

Answers = dict[str, str]
BACK, HELP = "<", "?"


def _always(_: Answers) -> bool:
    return True


@frozen
class Question:
    """One question; its answer goes into the answers under ``name``."""

    name: str
    ask: str
    why: str
    """Said when the person types a question mark."""
    read: Reader = answer_reading.a_text
    required: bool = False
    dimension: Dimension | None = None
    """Of a quantity: the prompt then names the unit of a bare number."""
    choices: tuple[str, ...] = ()
    echoed: bool = False
    """Whether what it was taken for is always said: digits that look like others."""
    needed: Callable[[Answers], bool] = _always
    """Whether the answers so far leave it open."""


def _quantity(name: str, place: str, ask: str, why: str, **more: object) -> Question:
    section, key = place.split(".")
    return Question(
        name=name,
        ask=ask,
        why=why,
        read=answer_reading.a_quantity(section, key),
        dimension=SECTIONS[section][key].dimension,
        **more,  # type: ignore[arg-type]
    )


def _choice(
    name: str, ask: str, why: str, choices: tuple[str, ...], **more: object
) -> Question:
    return Question(
        name=name,
        ask=ask,
        why=why,
        read=answer_reading.a_choice(choices),
        choices=choices,
        **more,  # type: ignore[arg-type]
    )


YES_NO = ("yes", "no")


def _overflow(answers: Answers) -> bool:
    return answers.get("method") == LevelMethod.OVERFLOW_TUBE


def _plug(answers: Answers) -> bool:
    return answers.get("method") != LevelMethod.STICK


def _readable(answers: Answers) -> bool:
    return answers.get("readable") == "yes"


_THREAD = (
    "It is stamped on the plug, or measured with a thread gauge; M14x1.5 is usual."
)
_TORQUE = "In the manual's table of tightening torques. Left out, it is listed as open."
QUESTIONS: tuple[Question, ...] = (
    Question(
        name="name",
        ask="What is the gearbox called",
        why="It heads the screen and the report, such as: six-speed automatic.",
        required=True,
    ),
    Question(
        name="source",
        ask="Where do the figures come from",
        why="Document, edition, section: so that anyone can look them up again.",
    ),
    _quantity(
        "low",
        "level.window",
        "Lowest fluid temperature at which the level may be set",
        "The level is right only inside the maker's window; it is never guessed.",
        required=True,
    ),
    _quantity(
        "high",
        "level.window",
        "Highest fluid temperature at which the level may be set",
        "The upper end of the maker's window.",
        required=True,
    ),
    _choice(
        "engine",
        "Engine while the level is set",
        "Most are set while the engine idles; an empty answer means idling.",
        tuple(EngineRule),
    ),
    _choice(
        "method",
        "How the level is set",
        "Overflow tube: a tube inside the pan; level plug: a hole in the side; stick: "
        "read, not drained. An empty answer means overflow tube.",
        tuple(m for m in LevelMethod if m is not LevelMethod.MEASURED_REFILL),
    ),
    _quantity(
        "settle",
        "level.settle_time",
        "Usual time until the stream breaks into drips",
        "GO needs that much time inside the window; an empty answer: it is reckoned.",
    ),
    Question(
        name="selector",
        ask="Where must the selector stand meanwhile",
        why="Usually P, as the manual says.",
    ),
    _quantity(
        "total",
        "sump.fill",
        "All the fluid in the gearbox (dry fill)",
        "With it the tool says what a tilt or a wrong temperature is worth.",
    ),
    _quantity(
        "area",
        "sump.area",
        "Surface of the fluid in the pan",
        "Length times width of the pan at the level, roughly.",
    ),
    Question(
        name="fluid",
        ask="What must the fluid meet",
        why="In the maker's words; the wrong fluid can ruin a gearbox.",
    ),
    _quantity(
        "service_fill",
        "fluid.service_fill",
        "How much a service usually takes",
        "Less than the dry fill: part of the fluid stays inside.",
    ),
    _quantity(
        "drained",
        "drain.expected",
        "How much usually comes out of the drain plug",
        "So that you see when too little comes out.",
    ),
    Question(
        name="drain_thread", ask="Thread of the drain plug", why=_THREAD, needed=_always
    ),
    _quantity("drain_torque", "fastener.torque", "Torque of the drain plug", _TORQUE),
    _choice(
        "renew",
        "What must be new when the plugs go back in",
        "A crushed washer is hard and may leak.",
        (*tuple(Renewal)[:3], "nothing"),
    ),
    Question(
        name="level_thread", ask="Thread of the level plug", why=_THREAD, needed=_plug
    ),
    _quantity(
        "level_torque",
        "fastener.torque",
        "Torque of the level plug",
        _TORQUE,
        needed=_plug,
    ),
    _quantity(
        "fill_torque",
        "fastener.torque",
        "Torque of the filler plug",
        _TORQUE,
        needed=_plug,
    ),
    Question(
        name="turns",
        ask="Turns the overflow tube is backed off after seating",
        why="Some tubes are screwed in until they seat and then turned back.",
        read=answer_reading.turns,
        needed=_overflow,
    ),
    _quantity(
        "pitch",
        "tube.pitch",
        "Thread pitch of the overflow tube",
        "It turns the tube's turns into a height.",
        needed=_overflow,
    ),
    _choice("filter", "Is a filter changed", "A new one takes up some fluid.", YES_NO),
    _quantity(
        "filter_holds",
        "filter.holds",
        "How much the filter holds",
        "It stays in the old one and is missing in the pan.",
        needed=lambda answers: answers.get("filter") == "yes",
    ),
    Question(
        name="positions",
        ask="Selector positions to work through before the level",
        why="In their order, such as P R N D: the passages must be full.",
        read=answer_reading.positions,
        needed=lambda answers: answers.get("engine") != EngineRule.OFF,
    ),
    _quantity(
        "hold",
        "exercise.hold",
        "How long in each position",
        "Two to ten seconds are usual; an empty answer means 5 s.",
        needed=lambda answers: "positions" in answers,
    ),
    _quantity(
        "distance",
        "interval.distance",
        "Distance to the next service",
        "The maker's interval for normal use.",
    ),
    Question(
        name="months",
        ask="Months to the next service",
        why="The maker's interval for normal use, as months.",
        read=answer_reading.a_number(1, 600, "48"),
    ),
    _choice(
        "readable",
        "Do you know how the car is asked for the fluid temperature",
        "CAN id, service and identifier. If not, say no: the rest works, and the "
        "temperature is measured.",
        YES_NO,
    ),
    Question(
        name="request_id",
        ask="CAN id the question goes to",
        why="Three hex digits, 7E1 on many cars.",
        read=answer_reading.a_can_id,
        required=True,
        needed=_readable,
    ),
    _choice(
        "service",
        "Service",
        "0x22 with a two-byte identifier, 0x21 with one byte.",
        ("0x22", "0x21"),
        required=True,
        needed=_readable,
    ),
    Question(
        name="identifier",
        ask="Identifier",
        why="Always hexadecimal, with 0x or without: 1157 means 0x1157.",
        read=answer_reading.an_identifier,
        required=True,
        echoed=True,
        needed=_readable,
    ),
    Question(
        name="first_byte",
        ask="First byte of the value after the identifier, from 0",
        why="An empty answer means 0.",
        read=answer_reading.a_number(0, 4091, "0"),
        needed=_readable,
    ),
    Question(
        name="length",
        ask="Bytes of the value",
        why="An empty answer means 1.",
        read=answer_reading.a_number(1, 4, "1"),
        needed=_readable,
    ),
    Question(
        name="factor",
        ask="Degrees Celsius for one step of the value",
        why="value = raw × factor + offset; an empty answer means 1.",
        read=answer_reading.a_decimal,
        needed=_readable,
    ),
    Question(
        name="offset",
        ask="Offset in degrees Celsius",
        why="Often -40; an empty answer means -40 for one byte.",
        read=answer_reading.a_decimal,
        needed=_readable,
    ),
)


@dataclass(slots=True)
class Interview:
    """Where the person stands among the questions, and what was answered."""

    units: Units
    answers: Answers = field(default_factory=dict)
    asked: list[int] = field(default_factory=list)
    """Questions answered or left out, for going back."""
    at: int = 0

    @property
    def question(self) -> Question | None:
        """The question that is open, or None at the end."""
        return QUESTIONS[self.at] if self.at < len(QUESTIONS) else None

    def prompt(self) -> str:
        """Return the open question with its unit or its choices."""
        question = self.question
        if question is None:
            return ""
        hint = ""
        if question.choices:
            listed = (f"{n} {word}" for n, word in enumerate(question.choices, 1))
            hint = f" ({', '.join(listed)})"
        elif question.dimension is not None:
            hint = f" ({sign(unit_of(question.dimension, self.units))})"
        return f"{question.ask}{hint}? "

    def tell(self, line: str) -> str:
        """Take one line; return what there is to say to it, '' if nothing."""
        question, answer = self.question, line.strip()
        if question is None:
            return ""
        if answer == BACK:
            return self._back()
        if answer == HELP:
            return question.why
        if not answer:
            return self._skip(question)
        try:
            self.answers[question.name] = question.read(answer, self.units)
            self._check_window()
        except AnswerError as error:
            self.answers.pop(question.name, None)
            return str(error)
        self._on()
        return ""

    def _check_window(self) -> None:
        if not {"low", "high"} <= set(self.answers):
            return
        low, high = (
            parse_quantity(self.answers[end], Dimension.TEMPERATURE)
            for end in ("low", "high")
        )
        if low >= high:
            raise AnswerError(
                "The upper end must be above the lower one; type it again, or < to go "
                "back."
            )

    def _skip(self, question: Question) -> str:
        if question.required:
            return f"That cannot be left out. {question.why}"
        self.answers.pop(question.name, None)
        self._on()
        return ""

    def _on(self) -> None:
        self.asked.append(self.at)
        self.at += 1
        while self.question is not None and not self.question.needed(self.answers):
            self.answers.pop(self.question.name, None)
            self.at += 1

    def reopen(self, name: str) -> None:
        """Go back to a question that was asked, or else to the first."""
        first = next((i for i in self.asked if QUESTIONS[i].name == name), 0)
        self.asked = [i for i in self.asked if i < first]
        self.at = first

    def _back(self) -> str:
        if not self.asked:
            return "This is the first question; Ctrl-C ends without writing anything."
        self.at = self.asked.pop()
        return ""
