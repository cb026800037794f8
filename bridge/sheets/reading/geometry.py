"""What the level step needs of a sheet: confirmations, sump and fluid."""

from __future__ import annotations

from typing import Any

from bridge.level.viscosity import Fluid
from bridge.sheets.reading.table import Table, in_words
from bridge.values.sheet import Role, Signal


def read_step(level: Table, sump: Table, fluid: Table) -> dict[str, Any]:
    """Return the Sheet's fields for the level step."""
    fill = sump.amount("fill")
    return {
        "confirm": level.words("confirm"),
        "selector_position": level.text("selector", ""),
        "tilt_limit_deg": level.amount("tilt_limit"),
        "fill_ml": None if fill is None else fill * 1000.0,
        "sump_area_cm2": sump.amount("area"),
        "opening_forward_mm": sump.amount("opening_forward") or 0.0,
        "opening_right_mm": sump.amount("opening_right") or 0.0,
        **_fluid(fluid),
    }


def _fluid(fluid: Table) -> dict[str, float | None]:
    thick, thin = fluid.amount("viscosity_40"), fluid.amount("viscosity_100")
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
        "density_kg_m3": fluid.amount("density"),
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
