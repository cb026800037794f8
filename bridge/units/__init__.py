"""Quantities at the edges: text with a unit in, text with a unit out.

Inside, every number is a float in the unit of its `Dimension`. The only place that
knows pint.
"""

from bridge.units.kinds import Dimension, Linear
from bridge.units.parse import (
    QuantityError,
    example_of,
    limits_like,
    linear_to,
    parse_quantity,
    printable,
    units_refused,
)
from bridge.units.said import (
    AmbiguousNumberError,
    SaidAmount,
    as_written,
    said,
    said_accuracy,
    said_amount,
    said_number,
    said_odometer,
    said_stick,
    said_temperature,
    said_tilt,
    said_torque,
)
from bridge.units.show import (
    ABSENT,
    Units,
    show_distance,
    show_duration,
    show_length,
    show_rate,
    show_temperature,
    show_temperature_span,
    show_temperature_step,
    show_torque,
    show_volume,
    temperature_in,
    temperature_step_in,
    temperature_unit,
)

__all__ = [
    "ABSENT",
    "AmbiguousNumberError",
    "Dimension",
    "Linear",
    "QuantityError",
    "SaidAmount",
    "Units",
    "as_written",
    "example_of",
    "limits_like",
    "linear_to",
    "parse_quantity",
    "printable",
    "said",
    "said_accuracy",
    "said_amount",
    "said_number",
    "said_odometer",
    "said_stick",
    "said_temperature",
    "said_tilt",
    "said_torque",
    "show_distance",
    "show_duration",
    "show_length",
    "show_rate",
    "show_temperature",
    "show_temperature_span",
    "show_temperature_step",
    "show_torque",
    "show_volume",
    "temperature_in",
    "temperature_step_in",
    "temperature_unit",
    "units_refused",
]
