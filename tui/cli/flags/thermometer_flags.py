"""What `live` does about ``--thermometer``, ``--accuracy`` and ``--infrared``."""

from __future__ import annotations

import sys
from argparse import Namespace
from typing import Any

from bridge.level.thermometer import (
    ADVICE,
    USUAL_ACCURACY_C,
    Thermometer,
    ThermometerKind,
)
from bridge.units import QuantityError, said_accuracy
from bridge.values.errors import UsageError


def add_hand_flags(flags: Any) -> None:
    """Add the flags to a verb."""
    flags.add_argument(
        "--thermometer",
        action="store_true",
        help="readings typed in by hand: instead of an adapter, or beside --port",
    )
    flags.add_argument(
        "--accuracy",
        metavar="C",
        help="what the thermometer is good for in °C, plus or minus",
    )
    flags.add_argument(
        "--infrared", action="store_true", help="it measures without touching"
    )


def thermometer_of(args: Namespace) -> Thermometer | None:
    """Return the thermometer the flags name, asking once for what they leave out.

    Raises:
        UsageError: the accuracy makes no sense.
    """
    if not args.thermometer:
        if args.accuracy or args.infrared:
            raise UsageError(
                "--accuracy and --infrared belong to a thermometer: add --thermometer"
            )
        return None
    kind = ThermometerKind.INFRARED if args.infrared else ThermometerKind.PROBE
    text = args.accuracy
    if text is None and not args.json and sys.stdin.isatty():
        text = _asked(kind)
    usual = f"{USUAL_ACCURACY_C[kind]:g}"
    try:
        accuracy = said_accuracy(text or usual)
    except QuantityError as problem:
        raise UsageError(f"--accuracy {problem}") from None
    return Thermometer(kind=kind, accuracy_c=accuracy, alone=not args.port)


def _asked(kind: ThermometerKind) -> str:
    usual = USUAL_ACCURACY_C[kind]
    sys.stdout.write(f"{ADVICE[kind]}\n")
    sys.stdout.write(
        f"What is it good for, plus or minus, in °C? (Enter: {usual:g}) ",
    )
    sys.stdout.flush()
    return sys.stdin.readline().strip()
