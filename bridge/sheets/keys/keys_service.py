"""The keys of the whole service: variants, parts, fasteners, drains, steps, volumes."""

from __future__ import annotations

from dataclasses import replace

from bridge.level.volume import DENSITY_KG_M3
from bridge.sheets.keys.key_kinds import (
    Section,
    flag,
    lines,
    number,
    quantities,
    quantity,
    section,
    text,
    whole,
    wholes,
    word,
    words,
)
from bridge.sheets.keys.keys_level import SUMP
from bridge.values.service_sheet import (
    Circuit,
    Drain,
    Exercise,
    Fastener,
    Interval,
    Part,
    PartKind,
    Renewal,
    Service,
    StepKind,
    Variant,
)
from bridge.values.sheet import Sheet

_ONLY_FOR = lines(
    "with oil cooler", tells="Names of the variants it is for; left out: all."
)
_NOTE = "Whatever else there is to know of it."
_DAY_S = 86400.0
_MONTH_S = 365.25 / 12 * _DAY_S
"""A month as pint has it: a twelfth of the Julian year."""


def months_or_days(time_s: float) -> tuple[int | None, int | None]:
    """Return a time as whole months, else as whole days, a part of one dropped."""
    months = round(time_s / _MONTH_S)
    if months and abs(time_s - months * _MONTH_S) < 1.0:
        return months, None
    return None, int((time_s + 1.0) // _DAY_S)


VARIANT = section(
    Variant,
    {
        "name": text("with oil cooler", "What to call this variant."),
        "look_for": text(
            "two pipes on the left of the case", "What tells it from the others."
        ),
        "fits": flag("Whether the sheet's figures hold for it."),
        "instead": text(
            "section 4 of the manual",
            "Where its figures are, if the sheet does not fit.",
        ),
    },
)
PART = section(
    Part,
    {
        "name": text("sealing washer 18 mm", "What to have at hand."),
        "kind": word(PartKind, "What it is."),
        "count": whole("1 to 100", "2", "How many of it."),
        "one_use": flag("Whether it is used once and then thrown away."),
        "number": text("0041-77", "The maker's part number."),
        "size": text("27 mm, 1/2 in square", "Of a tool: size, drive or adapter."),
        "note": text("copper, not aluminum", _NOTE),
        "only_for": _ONLY_FOR,
    },
)
FASTENER = section(
    Fastener,
    {
        "name": text("drain plug", "What to call it."),
        "drive": text("hex socket 8 mm", "Drive and size of the tool."),
        "thread": text("M18x1.5", "Thread, metric ones as in ISO 261."),
        "count": whole("1 to 100", "12", "How many there are."),
        "number": text("0041-78", "The maker's part number."),
        "sequence": wholes(
            "[1]",
            "The order in which a set of bolts is tightened, by their numbers from 1.",
        ),
        "stages": quantities(
            "0.05 to 500 N*m",
            '["8 N*m"]',
            "Torques of the stages before the last, in their order; torque is the "
            "last one.",
            into=("stages_nm",),
        ),
        "torque": quantity("0.05 to 500 N*m", "35 N*m", "How tight it goes back."),
        "torque_tolerance": quantity(
            "0.005 to 100 N*m", "3 N*m", "How far off the torque may be."
        ),
        "angle": quantity(
            "1 to 1080 deg",
            "90 deg",
            "Further angle after the torque, or after hand tight.",
        ),
        "angle_tolerance": quantity(
            "0.5 to 90 deg", "5 deg", "How far off that angle may be."
        ),
        "turns_back": number(
            "0.05 to 50", "2", "Turns to back it off after seating (an overflow tube)."
        ),
        "hand_tight": flag("Tightened by hand alone; then it has no torque."),
        "plastic": flag("Whether it is of plastic and must not be overtightened."),
        "renew": words(Renewal, '["washer"]', "What must be new when it goes back in."),
        "step": word(StepKind, "The step in which it is ticked off."),
        "note": text("the longer ones sit at the front", _NOTE),
        "only_for": _ONLY_FOR,
    },
)
DRAIN = section(
    Drain,
    {
        "name": text("pan", "What to call this place."),
        "circuit": text("final drive", "Name of the [[circuit]] it empties."),
        "fastener": text("drain plug", "Name of the fastener that closes it."),
        "expected": quantity("0.02 to 60 L", "3.5 L", "What usually comes out there."),
        "portion": quantity(
            "0.1 to 5 L",
            "1 L",
            "Pumped out there (a cooler line) in portions of so much: stop, fill the "
            "same in, go on; expected is then all of it.",
        ),
        "pressure": flag("Whether it can spray when it is opened."),
        "sideways": flag("Whether it runs out sideways, past a pan right below."),
        "note": text("opens under a lid", _NOTE),
        "only_for": _ONLY_FOR,
    },
)
EXERCISE = section(
    Exercise,
    {
        "positions": lines(
            "P",
            "R",
            "N",
            "D",
            tells="The selector's positions in the order they are taken.",
            least=2,
        ),
        "hold": quantity("0.5 to 120 s", "5 s", "How long it rests in each one."),
        "rounds": whole("1 to 20", "2", "How often the whole row is gone through."),
    },
)
INTERVAL = section(
    Interval,
    {
        "distance": quantity(
            "1000 to 1000000 km",
            "60000 km",
            "Distance after which the service is due again.",
        ),
        "months": whole(
            "1 to 600", "48", "Time after which it is due again, in months."
        ),
        "time": quantity(
            "2419200 to 1577880000 s",
            "4 years",
            "The same as a quantity (28 days to 50 years); what is no whole number of "
            "months counts in days.",
            into=("months", "days"),
            make=months_or_days,
        ),
        "look_distance": quantity(
            "1000 to 1000000 km",
            "30000 km",
            "Distance after which the fluid is looked at without being changed.",
        ),
        "look_months": whole(
            "1 to 600", "12", "Time after which it is looked at, in months."
        ),
        "severe_factor": number(
            "0.1 to 1", "0.5", "Share of the interval left under severe use."
        ),
        "severe": lines(
            "Towing or mountain roads.", tells="What counts as severe use."
        ),
    },
)
FLUID = section(
    Service,
    {
        "name": text(
            "low-viscosity fluid to the maker's standard",
            "What the fluid must meet, in the maker's words.",
            into=("fluid_name",),
        ),
        "number": text(
            "0052-11", "The maker's number of that fluid.", into=("fluid_number",)
        ),
        "forbidden": lines(
            "fluid for wet multi-plate clutches of motorcycles",
            tells="What must not be filled in, whatever its can says.",
            into=("forbidden_fluids",),
        ),
        "rounds": whole(
            "1 to 10", "3", "How many times it is drained and filled in one service."
        ),
        "service_fill": quantity(
            "0.2 to 60 L", "4.5 L", "What a service usually takes."
        ),
        "service_fill_tolerance": quantity(
            "0.01 to 10 L", "0.3 L", "How far off that usually is."
        ),
        "service_fill_temp": quantity(
            "-20 to 120 degC",
            "20 degC",
            "The temperature for which the service fill is told.",
        ),
        "density": quantity(
            "800 to 1164 kg/m3",
            "850 kg/m3",
            "Of the fluid at 15 degC, within the range of the volume table 54D.",
            default=f'"{DENSITY_KG_M3:g} kg/m3"',
            of=Sheet,
        ),
        "viscosity_40": quantity(
            "5 to 500 mm2/s",
            "30 mm2/s",
            "Of the fluid at 40 degC; it goes with the next. The settle time is scaled "
            "by them (ASTM D341).",
            of=Sheet,
        ),
        "viscosity_100": quantity(
            "2.01 to 100 mm2/s", "6 mm2/s", "Of the fluid at 100 degC.", of=Sheet
        ),
    },
)
FILTER = section(
    Service,
    {
        "holds": quantity(
            "0.01 to 5 L",
            "0.3 L",
            "What stays in the old filter, and a new one takes up.",
            into=("filter_holds_ml",),
        ),
    },
)


def _as_in(other: Section, *, leaving: str) -> Section:
    """Return another section's keys but one, to be bound to the present one's."""
    return {k: replace(key, of=None) for k, key in other.items() if k != leaving}


CIRCUIT = section(
    Circuit,
    {
        "name": text("final drive", "What to call this circuit."),
        "fluid": text(
            "gear oil to the maker's standard",
            "What its fluid must meet, in the maker's words.",
            into=("fluid_name",),
        ),
        "fill": quantity(
            "0.1 to 60 L", "0.8 L", "All the fluid in this circuit, its level right."
        ),
        **_as_in(FLUID, leaving="name"),
        **_as_in(SUMP, leaving="fill"),
        "filter_holds": replace(FILTER["holds"], of=None),
    },
)
TUBE = section(
    Service,
    {
        "pitch": quantity(
            "0.2 to 6 mm",
            "1.5 mm",
            "Thread pitch of the overflow tube.",
            into=("tube_pitch_mm",),
        ),
    },
)


def line_key(step: StepKind) -> str:
    """Return the key of [steps] that holds a step's lines: ``fill_plug``."""
    return step.value.replace("-", "_")


LINED_STEPS = tuple(step for step in StepKind if step is not StepKind.CAUTIONS)
"""The steps with lines in [steps]; those of the cautions stand in [cautions]."""

STEPS = section(
    Service,
    {
        "order": words(
            StepKind,
            '["cautions", "drain", "fill", "level"]',
            "The steps in the maker's order; left out: the usual order, those that the "
            "sheet has something for.",
            least=1,
        ),
        **{
            line_key(step): lines(
                "One sentence for each hand.",
                tells=f"The {step} step's lines.",
                into=(),
            )
            for step in LINED_STEPS
        },
        "licensed_tool": lines(
            "Reset of the clutch adaptation.",
            tells="What only a licensed tool may do afterwards; sumpgate reminds of it "
            "in the step after and never does it.",
        ),
        "level": lines(
            "Open the level plug.",
            tells="The level step in the maker's order.",
            of=Sheet,
            into=("steps",),
        ),
    },
)
