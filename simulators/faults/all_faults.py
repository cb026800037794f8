"""The register of everything the bench can do wrong, by name."""

from __future__ import annotations

import inspect
import math
from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from simulators.faults.adapter_faults import ADAPTER_FAULTS
from simulators.faults.bus_faults import BUS_FAULTS
from simulators.faults.car_faults import CAR_FAULTS
from simulators.faults.line_faults import LINE_FAULTS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from simulators.faults.fault import BenchFault

FAULTS: dict[str, type[BenchFault]] = {
    kind.name: kind
    for kind in (*BUS_FAULTS, *LINE_FAULTS, *ADAPTER_FAULTS, *CAR_FAULTS)
}
"""Every fault by its name."""

_TOO_LARGE = 2**63

LINK_FAULTS: tuple[str, ...] = tuple(
    kind.name for kind in (*BUS_FAULTS, *LINE_FAULTS, *ADAPTER_FAULTS)
)
"""The names of those that spoil the link and leave the car alone."""


def known(name: str) -> type[BenchFault]:
    """Return the fault of that name; raises UsageError if there is none."""
    if name not in FAULTS:
        raise UsageError(
            f"There is no fault {briefly(name)}: 'list' names those there are."
        )
    return FAULTS[name]


def make_fault(name: str, **options: object) -> BenchFault:
    """Build a fault; raises UsageError naming a wrong option or value."""
    kind = known(name)
    wanted = options_of(kind)
    for key, value in options.items():
        if key not in wanted:
            raise UsageError(
                f"The fault {name} has no option {briefly(key)}: it takes "
                f"{', '.join(wanted) or 'none'}."
            )
        options[key] = _fitting(name, key, value, wanted[key])
    try:
        return kind(**options)
    except (ValueError, TypeError) as error:
        raise UsageError(f"The fault {name} cannot be set so: {error}.") from error


def options_of(kind: type[BenchFault]) -> Mapping[str, object]:
    """Return the options a fault takes, with their defaults."""
    parameters = inspect.signature(kind).parameters.values()
    return {parameter.name: parameter.default for parameter in parameters}


def _fitting(name: str, key: str, value: object, default: object) -> object:
    """Return the value as the kind of thing the default is."""
    try:
        if isinstance(default, bool):
            return {"true": True, "false": False}[str(value).lower()]
        if isinstance(default, int):
            return _whole(str(value))
        if isinstance(default, float):
            return _number(str(value))
        return str(value)
    except (ValueError, KeyError, RecursionError) as error:
        kind = type(default).__name__
        raise UsageError(
            f"The fault {name} cannot take {briefly(value)} for {key}: give a value "
            f"of the kind {kind}."
        ) from error


def _whole(text: str) -> int:
    number = int(text, 0)
    if abs(number) >= _TOO_LARGE:
        raise ValueError(text[:20])
    return number


def _number(text: str) -> float:
    """Return a number; infinity stands for 'for ever' and is one."""
    number = float(text)
    if math.isnan(number):
        raise ValueError(text[:20])
    return number


def briefly(value: object) -> str:
    """Return what somebody wrote, short enough for a sentence."""
    try:
        written = repr(value)
    except (ValueError, RecursionError):  # a number of thousands of digits
        return f"a {type(value).__name__} beyond all reason"
    return written if len(written) <= 60 else f"{written[:57]}..."
