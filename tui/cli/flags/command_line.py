"""The command line: verbs and flags, grouped as `--help` shows them."""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING, Any, NoReturn

from bridge import VERSION
from tui.cli.flags.find_flags import add_find_verb
from tui.cli.flags.job_flags import add_job_verbs
from tui.cli.flags.phone_flags import add_flags as add_phone_flags
from tui.cli.flags.ports_flags import PORT_HELP, add_ports_verb
from tui.cli.flags.sheet_flags import add_sheet_verbs
from tui.cli.flags.thermometer_flags import add_hand_flags

if TYPE_CHECKING:
    from collections.abc import Callable

    _Verbs = argparse._SubParsersAction[Any]  # noqa: SLF001 - it has no other name
    _Flags = argparse._ActionsContainer  # noqa: SLF001 - a parser, or a group of it

USAGE = 2
EXAMPLES: dict[str, tuple[str, ...]] = {
    "sumpgate": (
        "sumpgate                                    choose on the start screen",
        "sumpgate demo --speed 15                    watch a simulated car warm up",
        "sumpgate live --port COM5 --profile SHEET   the real car",
    ),
    "live": (
        "sumpgate live --profile my-gearbox.toml     the port of last time",
        "sumpgate live --port /dev/ttyUSB0 --profile my-gearbox.toml --service",
        "sumpgate live --thermometer --accuracy 1 --profile my-gearbox.toml",
        "sumpgate live --profile my-gearbox.toml --phone lan --speak",
        "sumpgate live --profile my-gearbox.toml --plain    sentences, no screen",
    ),
    "demo": (
        "sumpgate demo --speed 15                    it opens in about a minute",
        "sumpgate demo --scene warm-day --plain      sentences, no screen",
        "sumpgate demo --service --record            the whole service, written down",
    ),
    "service": (
        "sumpgate service --profile my-gearbox.toml --odometer '123456 km'",
        "sumpgate service --profile my-gearbox.toml --lines",
    ),
}
"""What stands at the end of a verb's help."""


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one sentence instead of a page; its examples come last."""

    def __init__(self, *args: Any, **given: Any) -> None:
        name = str(given.get("prog", "")).rpartition(" ")[2]
        if name in EXAMPLES:
            given["epilog"] = "Examples:\n" + "\n".join(
                f"  {line}" for line in EXAMPLES[name]
            )
            given["formatter_class"] = argparse.RawDescriptionHelpFormatter
        super().__init__(*args, **given)

    def error(self, message: str) -> NoReturn:
        """End with the usage exit code."""
        self.exit(USAGE, f"sumpgate: {message}; '{self.prog} --help' shows the usage\n")


def seconds(text: str) -> float:
    """Return a positive, finite number of seconds."""
    return _number(text, "seconds")


def factor(text: str) -> float:
    """Return a positive, finite speed."""
    return _number(text, "times life")


def _number(text: str, what: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not (math.isfinite(value) and 0 < value <= 1e6):
        raise argparse.ArgumentTypeError(f"{text!r} is not a positive number of {what}")
    return value


def interval(text: str) -> float:
    """Return a poll interval: 0 (flat out) to 10 s."""
    value = 0.0 if text.strip() in ("0", "0.0") else seconds(text)
    if value > 10.0:
        raise argparse.ArgumentTypeError(f"{text!r} is more than 10 seconds")
    return value


def speed(text: str) -> int:
    """Return a speed in bits a second: a whole number from 1 to 20 million."""
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0
    if not 0 < number <= 20_000_000:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a speed: write a whole number such as 38400"
        )
    return number


def speed_or_auto(text: str) -> int | None:
    """Return a speed, or None for 'auto'."""
    return None if text.strip().lower() == "auto" else speed(text)


def build_parser(verb: str = "") -> argparse.ArgumentParser:
    """Return the whole command line; ``verb``: with that one alone, which is quicker.

    What is no verb leaves it whole, so that it is said which ones there are.
    """
    parser = _Parser(
        prog="sumpgate",
        description="Sets a sealed gearbox's fluid level at the right temperature. "
        "Only ever reads from the car.",
    )
    parser.add_argument("--version", action="version", version=f"sumpgate {VERSION}")
    verbs = parser.add_subparsers(dest="verb", metavar="VERB")
    for name, add in _verbs().items():
        if verb not in _verbs() or name == verb:
            add(verbs)
    return parser


def _verbs() -> dict[str, Callable[[_Verbs], None]]:
    """Return what adds each verb, in the order of the help."""
    return {
        "live": _add_live,
        "demo": _add_demo,
        "service": _add_service,
        "bench": _add_bench,
        "replay": _add_replay,
        "sheet": add_sheet_verbs,
        "adapter": _add_adapter,
        "job": add_job_verbs,
        "find": lambda verbs: add_find_verb(verbs, seconds),
        "ports": add_ports_verb,
    }


def _output(flags: _Flags) -> None:
    """Add what stands in the screen's place, and for how long."""
    either = flags.add_mutually_exclusive_group()
    _json(either)
    either.add_argument(
        "--plain",
        action="store_true",
        help="no screen: one sentence for each change that matters, keys as typed "
        "lines; for screen readers and plain terminals",
    )
    _for(flags)


def _json(flags: _Flags) -> None:
    flags.add_argument(
        "--json", action="store_true", help="no screen: one JSON object a line"
    )


def _for(flags: _Flags) -> None:
    flags.add_argument(
        "--for",
        dest="for_s",
        type=seconds,
        metavar="SECONDS",
        help="end after so many seconds of the car's time",
    )


def _wire_log(flags: _Flags) -> None:
    flags.add_argument(
        "--wire-log",
        metavar="FILE",
        help="write down every byte to and from the adapter",
    )


def _reach(flags: _Flags) -> None:
    flags.add_argument("--port", help=PORT_HELP)
    flags.add_argument(
        "--baud",
        type=speed_or_auto,
        default=None,
        metavar="auto|N",
        help="speed of a serial port, default auto: it is searched for",
    )


def _sheet(flags: _Flags) -> None:
    flags.add_argument("--profile", metavar="SHEET", help="sheet name or TOML file")


def _record(flags: _Flags, *, asked: bool = False) -> None:
    """Add what goes into the job's file; ``asked``: it is written without --record."""
    flags.add_argument(
        "--record",
        nargs="?",
        const="",
        metavar="FILE",
        help="write the job down there, or in the usual folder; goes on with a job "
        "file that is there already",
    )
    if not asked:
        flags.add_argument(
            "--no-record", action="store_true", help="do not write the job down"
        )
        flags.add_argument(
            "--start-over",
            dest="afresh",
            action="store_true",
            help="start a new job, even if another was not closed",
        )
    flags.add_argument(
        "--odometer",
        metavar="DISTANCE",
        help='what it shows, for the record, such as "123456 km" or "76700 mi"',
    )
    flags.add_argument(
        "--who", default="", metavar="NAME", help="who works on it, for the record"
    )


def _at_service(flags: _Flags) -> None:
    flags.add_argument(
        "--service", action="store_true", help="begin with the whole service's steps"
    )


def _add_service(verbs: _Verbs) -> None:
    service = verbs.add_parser(
        "service", help="the steps of the whole service, with no car connected"
    )
    job = service.add_argument_group("job")
    _sheet(job)
    _record(job)
    output = service.add_argument_group("output")
    _output(output)
    output.add_argument(
        "--lines", action="store_true", help="list the sheet's words for typed lines"
    )


def _add_live(verbs: _Verbs) -> None:
    live = verbs.add_parser("live", help="watch a car through an adapter")
    connection = live.add_argument_group("connection")
    _reach(connection)
    connection.add_argument(
        "--interval",
        type=interval,
        default=0.2,
        metavar="SECONDS",
        help="between two rounds of questions; 0: as fast as it goes (default 0.2)",
    )
    add_hand_flags(connection)
    job = live.add_argument_group("job")
    _sheet(job)
    _at_service(job)
    _record(job)
    add_phone_flags(live.add_argument_group("phone"))
    output = live.add_argument_group("output")
    _output(output)
    _wire_log(output)


def _car(flags: _Flags) -> None:
    flags.add_argument("--scene", default="cold-start", help="default cold-start")
    flags.add_argument(
        "--trace", metavar="FILE", help="play a recorded curve as the fluid"
    )
    flags.add_argument(
        "--speed", type=factor, default=1.0, metavar="N", help="times life, default 1"
    )
    flags.add_argument("--seed", type=int, default=0, help="for what is random")
    flags.add_argument(
        "--faults", metavar="FILE", help="TOML file of faults and their times"
    )


def _add_demo(verbs: _Verbs) -> None:
    demo = verbs.add_parser("demo", help="the same on a simulated car")
    _car(demo.add_argument_group("simulated car"))
    job = demo.add_argument_group("job")
    _sheet(job)
    _at_service(job)
    _record(job, asked=True)
    add_phone_flags(demo.add_argument_group("phone"))
    output = demo.add_argument_group("output")
    _output(output)
    _wire_log(output)


def _add_bench(verbs: _Verbs) -> None:
    bench = verbs.add_parser("bench", help="the simulated adapter alone")
    where = bench.add_mutually_exclusive_group(required=True)
    where.add_argument("--tcp", metavar="HOST:PORT", help="serve on a TCP port")
    where.add_argument("--pty", action="store_true", help="serve on a new pty")
    bench.add_argument(
        "--control", metavar="HOST:PORT", help="take commands there, one a line"
    )
    bench.add_argument("--baud", type=speed, default=115_200, help="default 115200")
    bench.add_argument("--from-log", metavar="FILE", help="play a wire log back")
    bench.add_argument(
        "--adapter",
        metavar="NAME",
        help="how the adapter talks: a name of docs/adapters.md, several joined with "
        "+, or mix:SEED",
    )
    bench.add_argument(
        "--hidden",
        type=int,
        metavar="SEED",
        help="a random gearbox unit nobody has a sheet for, to try find on",
    )
    _sheet(bench)
    _car(bench)


def _add_replay(verbs: _Verbs) -> None:
    replay = verbs.add_parser(
        "replay", help="a recorded trace or job, as fast as it goes"
    )
    replay.add_argument(
        "file", metavar="FILE", help="a job, or a CSV file with header time_s,temp_c"
    )
    replay.add_argument(
        "--profile", metavar="SHEET", help="for a CSV; a job has its own"
    )
    replay.add_argument(
        "--strict",
        action="store_true",
        help="leave engine and standing unknown where the trace does not say",
    )
    _json(replay)
    _for(replay)


def _add_adapter(verbs: _Verbs) -> None:
    adapter = verbs.add_parser("adapter", help="is this adapter fit for the job?")
    _reach(adapter)
    adapter.add_argument(
        "--protocol",
        choices=("auto", *"123456789"),
        default="auto",
        help="the car's, as the adapter's digit (6 to 9: CAN); default auto",
    )
    adapter.add_argument(
        "--profile", metavar="SHEET", help="ask for this sheet's fluid too"
    )
    adapter.add_argument(
        "--seconds",
        type=seconds,
        default=10.0,
        metavar="N",
        help="how long to measure readings, default 10",
    )
    _wire_log(adapter)
    adapter.add_argument("--json", action="store_true", help="one JSON object")
