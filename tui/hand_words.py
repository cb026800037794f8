"""The hand thermometer and the doubts about the sensor, in words. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bridge.core.thermometer import ADVICE, Ask
from tui import figures

if TYPE_CHECKING:
    from bridge.core.model import Snapshot
    from bridge.core.thermometer import Hand

WHY: dict[Ask, str] = {
    Ask.FIRST: "none has been typed yet",
    Ask.REGULAR: "the last one grows old",
    Ask.NEAR_WINDOW: "the window is near its edge",
    Ask.PLUG_OPEN: "the plug is open",
    Ask.TOO_VAGUE: "the forecast has grown too vague",
}


def detail(snapshot: Snapshot) -> str:
    """Return what stands below the car's values: doubts, thermometer, link."""
    told = [doubt.words for doubt in snapshot.doubts]
    if snapshot.hand is not None:
        told.append(hand_line(snapshot.hand))
    return figures.clean("; ".join([*told, *filter(None, [snapshot.link_detail])]))


def hand_line(hand: Hand) -> str:
    """Return when the thermometer is wanted next, or what came of the last reading."""
    compared = hand.compared
    if compared is not None:
        word = "agrees with" if compared.agrees else "contradicts"
        return (
            f"thermometer {compared.thermometer_c:.1f} °C {word} the sensor's "
            f"{compared.sensor_c:.1f} °C"
        )
    if not hand.thermometer.alone:
        return "press t to hold a thermometer against the sensor"
    good = f"thermometer ±{hand.thermometer.accuracy_c:g} °C"
    if hand.due_in_s > 0:
        return f"{good}: next reading in {hand.due_in_s:.0f} s"
    return f"{good}: read it now and press t, {WHY[hand.ask]}"


def advice(hand: Hand) -> str:
    """Return what to mind when the thermometer is read."""
    return ADVICE[hand.thermometer.kind]


def hand_as_dict(snapshot: Snapshot) -> dict[str, Any] | None:
    """Return how the thermometer stands, under documented keys; null: none in use."""
    hand = snapshot.hand
    if hand is None:
        return None
    compared = hand.compared
    return {
        "kind": hand.thermometer.kind.value,
        "accuracy_c": hand.thermometer.accuracy_c,
        "alone": hand.thermometer.alone,
        "due_in_s": round(hand.due_in_s, 2),
        "ask": hand.ask.value,
        "compared": None
        if compared is None
        else {
            "thermometer_c": round(compared.thermometer_c, 3),
            "sensor_c": round(compared.sensor_c, 3),
            "apart_c": round(compared.apart_c, 3),
            "agrees": compared.agrees,
        },
    }
