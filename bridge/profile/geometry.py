"""What the level step needs of a sheet: confirmations, sump and fluid."""

from __future__ import annotations

from typing import Any

from bridge.core.model import Confirmation, Role, Signal
from bridge.core.viscosity import Fluid
from bridge.core.volume import MOST_TILT_DEG
from bridge.profile.table import Table, in_words
from bridge.units import Dimension

_LIMITS: dict[str, tuple[Dimension, float, float, str]] = {
    "fill": (Dimension.VOLUME, 0.5, 60.0, "0.5 to 60 L"),
    "area": (Dimension.AREA, 20.0, 5000.0, "20 to 5000 cm2"),
    "opening_forward": (Dimension.LENGTH, -2000.0, 2000.0, "-2000 to 2000 mm"),
    "opening_right": (Dimension.LENGTH, -2000.0, 2000.0, "-2000 to 2000 mm"),
    "density": (Dimension.DENSITY, 800.0, 1164.0, "800 to 1164 kg/m3 (table 54D)"),
    "viscosity_40": (Dimension.VISCOSITY, 5.0, 500.0, "5 to 500 mm2/s"),
    "viscosity_100": (Dimension.VISCOSITY, 2.01, 100.0, "above 2 up to 100 mm2/s"),
    "tilt_limit": (Dimension.ANGLE, 0.05, MOST_TILT_DEG, "0.05 to 30 deg"),
}


def read_step(level: Table, sump: Table, fluid: Table) -> dict[str, Any]:
    """Return the Sheet's fields for the level step."""
    fill = _bounded(sump, "fill")
    return {
        "confirm": _confirm(level),
        "selector_position": level.text("selector", ""),
        "tilt_limit_deg": _bounded(level, "tilt_limit"),
        "fill_ml": None if fill is None else fill * 1000.0,
        "sump_area_cm2": _bounded(sump, "area"),
        "opening_forward_mm": _bounded(sump, "opening_forward") or 0.0,
        "opening_right_mm": _bounded(sump, "opening_right") or 0.0,
        **_fluid(fluid),
    }


def _bounded(table: Table, key: str) -> float | None:
    """Return a quantity within its limits, or None if the sheet does not give it."""
    if not table.has(key):
        return None
    dimension, low, high, words = _LIMITS[key]
    value = table.quantity(key, dimension)
    if not low <= value <= high:
        raise table.mistake(key, f"is {value:.6g} {dimension}; write {words}")
    return value


def _confirm(level: Table) -> tuple[str, ...]:
    told = level.lines("confirm")
    for item in told:
        if item not in tuple(Confirmation):
            known = ", ".join(Confirmation)
            raise level.mistake(
                "confirm", f"has {in_words(item)} in it, unknown here; write {known}"
            )
    if len(set(told)) < len(told):
        raise level.mistake("confirm", "names a point twice; write each one once")
    return told


def _fluid(fluid: Table) -> dict[str, float | None]:
    thick, thin = _bounded(fluid, "viscosity_40"), _bounded(fluid, "viscosity_100")
    if (thick is None) != (thin is None):
        missing = "viscosity_40" if thick is None else "viscosity_100"
        raise fluid.mistake(
            missing, "is missing; give both from the fluid's data sheet, or neither"
        )
    if thick is not None and thin is not None:
        try:
            Fluid(at_40_mm2_s=thick, at_100_mm2_s=thin)
        except ValueError:
            raise fluid.mistake(
                "viscosity_40", "is not above viscosity_100; exchange the two"
            ) from None
    return {
        "density_kg_m3": _bounded(fluid, "density"),
        "viscosity_40_mm2_s": thick,
        "viscosity_100_mm2_s": thin,
    }


def check_selector(level: Table, position: str, signals: tuple[Signal, ...]) -> None:
    """Refuse a selector position that the selector's signal cannot tell."""
    signal = next((s for s in signals if s.role is Role.SELECTOR), None)
    if not position or signal is None or not signal.labels:
        return
    labels = [label for _, label in signal.labels]
    if position not in labels:
        raise level.mistake(
            "selector",
            f"is {in_words(position)}, which the selector's labels do not have; "
            f"write one of {', '.join(labels)}",
        )
