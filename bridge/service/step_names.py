"""The service in words: names of its steps, and what a tick means. Plain lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.service_sheet import Renewal, StepKind, Tick

if TYPE_CHECKING:
    from bridge.values.service_sheet import Fastener

_STEPS: dict[StepKind, str] = {
    StepKind.CAUTIONS: "cautions",
    StepKind.IDENTIFY: "which gearbox",
    StepKind.PARTS: "parts and tools",
    StepKind.BEFORE: "the car before",
    StepKind.FILL_PLUG: "open the fill plug",
    StepKind.DRAIN: "drain",
    StepKind.OLD_FLUID: "the old fluid",
    StepKind.FILTER: "filter",
    StepKind.REFIT: "refit plugs",
    StepKind.FILL: "fill",
    StepKind.EXERCISE: "work the selector",
    StepKind.LEVEL: "set the level",
    StepKind.CLOSING: "close up",
    StepKind.RECHECK: "recheck after a drive",
    StepKind.AFTER: "the car after",
    StepKind.DUE: "next due",
}
_NEW: dict[Renewal, str] = {
    Renewal.WASHER: "washer",
    Renewal.SEAL: "seal",
    Renewal.PLUG: "plug",
    Renewal.BOLT: "bolt",
    Renewal.O_RING: "o-ring",
}


def step_name(step: StepKind) -> str:
    """Return the short name of a step, at most 22 characters."""
    return _STEPS[step]


def renewals(fastener: Fastener) -> str:
    """Return what must be new at a fastener: 'new washer', 'new seal and bolt'."""
    words = [_NEW[item] for item in fastener.renew]
    return f"new {' and '.join(words)}" if words else ""


def tick_words(tick: Tick, fastener: Fastener) -> str:
    """Return what one tick at a fastener says was done, without the figure."""
    if tick is Tick.RENEWED:
        return renewals(fastener)
    if tick is Tick.ANGLE:
        return "turned the further angle"
    if tick is Tick.BACKED_OFF:
        return "backed off"
    return "hand tight" if fastener.hand_tight else "torque"
