"""The hand thermometer and the doubts about the sensor, in words. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bridge.level.thermometer import ADVICE, ReadingWanted
from tui.words import figures, link_wording

if TYPE_CHECKING:
    from bridge.level.thermometer import ThermometerStatus
    from bridge.snapshot import Snapshot
    from tui.words.figures import TemperatureUnit

TELLING_C_PER_S = 0.5 / 60.0
"""Below half a degree a minute the rate is too vague to put a time to a doubt."""
WHY: dict[ReadingWanted, str] = {
    ReadingWanted.FIRST: "none has been typed yet",
    ReadingWanted.REGULAR: "the last one is getting old",
    ReadingWanted.NEAR_WINDOW: "the window is near its edge",
    ReadingWanted.PLUG_OPEN: "the plug is open",
    ReadingWanted.TOO_VAGUE: "the forecast is too vague by now",
}


def detail(snapshot: Snapshot, unit: TemperatureUnit) -> str:
    """Return what stands below the car's values: doubts, thermometer, link."""
    words = [doubt.words for doubt in snapshot.doubts]
    if snapshot.unmoved_s is not None and not words:
        words.append(f"the value has not moved for {snapshot.unmoved_s / 60:.0f} min")
    status = snapshot.thermometer_status
    if status is not None:
        words.append(status_line(status, snapshot.rate_c_per_s, unit))
    link = link_wording.sentence(snapshot.link_cause, snapshot.link_detail)
    return figures.clean("; ".join([*words, *filter(None, [link])]))


def status_line(
    status: ThermometerStatus, rate_c_per_s: float | None, unit: TemperatureUnit
) -> str:
    """Return when the thermometer is wanted next, or what came of the last reading.

    Used alone, how far off it puts the times: its doubt over the fluid's rate.
    """
    compared = status.compared
    if compared is not None:
        word = "agrees with" if compared.agrees else "disagrees with"
        return (
            f"thermometer {figures.temperature(compared.thermometer_c, unit)} {word} "
            f"the sensor's {figures.temperature(compared.sensor_c, unit)}"
        )
    if not status.thermometer.alone:
        return "press t to compare with a thermometer"
    accuracy = figures.difference_in_unit(status.thermometer.accuracy_c, unit)
    good = f"thermometer ±{accuracy:.2g} °{unit}"
    rate = abs(figures.known(rate_c_per_s) or 0.0)
    if rate > TELLING_C_PER_S:
        off = figures.rough_time(status.thermometer.accuracy_c / rate)
        good = f"{good} ({off} at this rate)"
    if status.due_in_s > 0:
        return f"next reading in {status.due_in_s:.0f} s; {good}"
    return f"read it now and press t: {WHY[status.ask]}; {good}"


def advice(status: ThermometerStatus) -> str:
    """Return what to mind when the thermometer is read."""
    return ADVICE[status.thermometer.kind]


def hand_as_dict(snapshot: Snapshot) -> dict[str, Any] | None:
    """Return how the thermometer stands, under documented keys; null: none in use."""
    status = snapshot.thermometer_status
    if status is None:
        return None
    compared = status.compared
    return {
        "kind": status.thermometer.kind.value,
        "accuracy_c": status.thermometer.accuracy_c,
        "alone": status.thermometer.alone,
        "due_in_s": round(status.due_in_s, 2),
        "ask": status.ask.value,
        "compared": None
        if compared is None
        else {
            "thermometer_c": round(compared.thermometer_c, 3),
            "sensor_c": round(compared.sensor_c, 3),
            "apart_c": round(compared.apart_c, 3),
            "agrees": compared.agrees,
        },
    }
