"""The flags of `sumpgate find`."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from tui.cli.flags.ports_flags import PORT_HELP

if TYPE_CHECKING:
    _Verbs = argparse._SubParsersAction[Any]  # noqa: SLF001 - it has no other name

FASTEST = 50.0
DEFAULT_RANGES = "21:01-FF 22:0100-01FF 22:1000-1FFF"


def pace(text: str) -> float:
    """Return a pace: 0.2 to 50 questions a second."""
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.2 <= value <= FASTEST:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no pace: write questions a second, 0.2 to {FASTEST:g}"
        )
    return value


def place(text: str) -> int:
    """Return which candidate to take: 1 to 10."""
    if text.isascii() and text.isdigit() and 1 <= int(text) <= 10:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is no place from 1 to 10")


def add_find_verb(verbs: _Verbs, minutes: Callable[[str], float]) -> None:
    """Add the verb that looks for the fluid's temperature."""
    find = verbs.add_parser("find", help="look for the fluid temperature, reading only")
    find.add_argument("--port", help=PORT_HELP)
    find.add_argument("--baud", type=int, default=None, metavar="N", help="port speed")
    _where(find)
    _how(find, minutes)
    _result(find)


def _where(find: argparse.ArgumentParser) -> None:
    find.add_argument(
        "--ranges",
        default=DEFAULT_RANGES,
        metavar="SPANS",
        help=f"service and identifiers in hexadecimal, default '{DEFAULT_RANGES}'",
    )
    find.add_argument(
        "--units", metavar="IDS", help="request ids such as 7E1; default: all but 7E0"
    )
    find.add_argument(
        "--protocol",
        choices=("auto", "6", "7", "8", "9"),
        default="auto",
        help="the adapter's digit for the CAN bus, default auto",
    )
    find.add_argument(
        "--session",
        choices=("default", "extended"),
        default="default",
        help="extended: ask each unit for an extended session first",
    )


def _how(find: argparse.ArgumentParser, minutes: Callable[[str], float]) -> None:
    find.add_argument(
        "--pace",
        type=pace,
        default=10.0,
        metavar="N",
        help="questions a second at most, default 10",
    )
    find.add_argument(
        "--engine-on", action="store_true", help="search while the engine runs"
    )
    find.add_argument(
        "--minutes",
        type=minutes,
        default=15.0,
        metavar="N",
        help="how long to watch from the engine's start, default 15",
    )
    find.add_argument("--search-only", action="store_true", help="do not watch")
    find.add_argument(
        "--offline", action="store_true", help="rank what the file holds, no adapter"
    )
    find.add_argument(
        "--accuracy",
        default="2",
        metavar="C",
        help="what your thermometer is good for in °C, plus or minus, default 2",
    )


def _result(find: argparse.ArgumentParser) -> None:
    find.add_argument("--state", metavar="FILE", help="where the search is kept")
    find.add_argument("--fresh", action="store_true", help="forget what it holds")
    find.add_argument("--write", metavar="FILE", help="write the sheet there")
    find.add_argument("--profile", metavar="SHEET", help="the sheet to add to")
    find.add_argument(
        "--window", metavar="LOW,HIGH", help="without a sheet: the manual's window"
    )
    find.add_argument(
        "--pick", type=place, default=1, metavar="N", help="take the Nth, default 1"
    )
    find.add_argument(
        "--confirm", metavar="SHEET", help="compare a found signal with a thermometer"
    )
    find.add_argument(
        "--wire-log",
        metavar="FILE",
        help="write down every byte to and from the adapter",
    )
    find.add_argument("--json", action="store_true", help="one JSON object a line")
