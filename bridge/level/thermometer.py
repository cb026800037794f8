"""A hand thermometer as a source: what is typed, what it is good for. Pure."""

from __future__ import annotations

from enum import StrEnum

from bridge.values.frozen import frozen


class ThermometerKind(StrEnum):
    """How the thermometer measures."""

    PROBE = "probe"
    INFRARED = "infrared"


USUAL_ACCURACY_C = {ThermometerKind.PROBE: 1.5, ThermometerKind.INFRARED: 4.0}
"""Plus or minus, in use and not in the data sheet (common practice, no source)."""
ADVICE = {
    ThermometerKind.PROBE: (
        "Hold the probe where the sheet says, else in the fluid itself; against the "
        "pan wrap it from the draft. Read it when it stands."
    ),
    ThermometerKind.INFRARED: (
        "Infrared reads low on a shiny pan: blacken a spot or put tape on it, and "
        "aim at that from close by."
    ),
}


@frozen
class Thermometer:
    """What reads the temperature, as the person told it."""

    kind: ThermometerKind = ThermometerKind.PROBE
    accuracy_c: float = USUAL_ACCURACY_C[ThermometerKind.PROBE]
    """Within plus or minus this in 19 of 20 cases."""
    alone: bool = True
    """Whether it is the only source; False: an adapter reads the car beside it."""

    @property
    def noise_sd_c(self) -> float:
        """What differs from reading to reading, as a standard deviation."""
        return 0.5 * self.accuracy_c

    @property
    def bias_sd_c(self) -> float:
        """What is the same in every reading and does not average away.

        Half as much as the noise again: calibration, the spot, the pan's shine
        (common practice, no source). The gate reckons with it; a forecast in the
        thermometer's own degrees need not.
        """
        return 0.25 * self.accuracy_c


TYPED_STALE_S = 150.0
"""A typed reading older than this carries no decision, however sure the forecast."""
GO_AGE_S = 45.0
"""No GO rests on a typed reading older than this: a change would go unseen."""
WORD_S = 900.0
"""How long the person's word on engine and standing holds before asking again."""
EVERY_S, SOON_EVERY_S, LEAST_EVERY_S = 90.0, 30.0, 20.0
SOON_S = 180.0
MOST_GROWN = 1.2
"""A reading is due once the estimate's sd is this many times a reading's noise."""


class ReadingWanted(StrEnum):
    """Why the next reading is wanted when it is."""

    FIRST = "first"
    REGULAR = "regular"
    NEAR_WINDOW = "near-window"
    PLUG_OPEN = "plug-open"
    TOO_VAGUE = "too-vague"


@frozen
class Compared:
    """One typed reading held against the car's sensor."""

    t_s: float
    thermometer_c: float
    sensor_c: float
    apart_c: float
    """How far apart they could be."""

    @property
    def agrees(self) -> bool:
        """Whether the two can both be right."""
        return abs(self.thermometer_c - self.sensor_c) <= self.apart_c


@frozen
class ThermometerStatus:
    """How the hand thermometer stands: for the screen, not for the gate."""

    thermometer: Thermometer
    due_in_s: float
    """Seconds until the next reading is wanted; 0: now."""
    ask: ReadingWanted
    compared: Compared | None = None


ELSEWHERE_C = 1.0
"""The sensor sits in the sump and the thermometer on it (common practice)."""


def compare(
    *,
    t_s: float,
    typed_c: float,
    accuracy_c: float,
    sensor_c: float,
    sensor_sd_c: float,
) -> Compared:
    """Hold a typed reading against the estimate from the car's sensor."""
    return Compared(
        t_s=t_s,
        thermometer_c=typed_c,
        sensor_c=sensor_c,
        apart_c=accuracy_c + ELSEWHERE_C + 2.0 * min(sensor_sd_c, 2.0),
    )


def next_reading(
    thermometer: Thermometer,
    *,
    age_s: float | None,
    temp_sd_c: float | None,
    near_s: float | None,
    plug_open: bool,
) -> tuple[float, ReadingWanted]:
    """Return in how many seconds the next reading is wanted, and why.

    ``age_s``: of the last one, None without any; ``near_s``: until the window opens or
    shuts at the earliest, None if not known.
    """
    if age_s is None:
        return 0.0, ReadingWanted.FIRST
    if temp_sd_c is None:
        return 0.0, ReadingWanted.TOO_VAGUE
    if temp_sd_c > MOST_GROWN * thermometer.noise_sd_c and age_s > LEAST_EVERY_S:
        return 0.0, ReadingWanted.TOO_VAGUE
    if plug_open:
        return max(0.0, SOON_EVERY_S - age_s), ReadingWanted.PLUG_OPEN
    if near_s is not None and near_s < SOON_S:
        return max(0.0, SOON_EVERY_S - age_s), ReadingWanted.NEAR_WINDOW
    return max(0.0, EVERY_S - age_s), ReadingWanted.REGULAR
