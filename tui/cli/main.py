"""The command line: verbs, flags, exit codes.

Exit codes: 0 done; 2 usage or bad input (one sentence on standard error);
3 adapter or car not reached; 130 interrupted, 143 terminated, 129 hung up.
"""

from __future__ import annotations

import argparse
import importlib
import math
import sys
from typing import TYPE_CHECKING, NoReturn

from bridge import VERSION
from bridge.values.errors import SumpgateError, UsageError
from tui import console, signals
from tui.cli.flags.find_flags import add_find_verb
from tui.cli.flags.job_flags import add_job_verbs
from tui.cli.flags.phone_flags import add_flags as add_phone_flags
from tui.cli.flags.ports_flags import PORT_HELP, add_ports_verb
from tui.cli.flags.sheet_flags import add_sheet_verbs
from tui.cli.flags.thermometer_flags import add_hand_flags
from tui.signals import INTERRUPTED
from tui.start.begin import begin, has_terminal
from tui.start.gap import GapError

USAGE = 2
_LONGEST_SENTENCE = 1200


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one sentence instead of a page."""

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


def build_parser() -> argparse.ArgumentParser:
    """Return the whole command line."""
    parser = _Parser(
        prog="sumpgate",
        description="Sets a sealed gearbox's fluid level at the right temperature. "
        "Only ever reads from the car.",
    )
    parser.add_argument("--version", action="version", version=f"sumpgate {VERSION}")
    verbs = parser.add_subparsers(dest="verb", metavar="VERB")
    _add_live(verbs)
    _add_demo(verbs)
    _add_service(verbs)
    _add_bench(verbs)
    _add_replay(verbs)
    add_sheet_verbs(verbs)
    _add_adapter(verbs)
    add_job_verbs(verbs)
    add_find_verb(verbs, seconds)
    add_ports_verb(verbs)
    return parser


if TYPE_CHECKING:
    _Verbs = argparse._SubParsersAction[_Parser]  # noqa: SLF001 - it has no other name


def _output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--json", action="store_true", help="no screen: one JSON object a line"
    )
    parser.add_argument(
        "--for",
        dest="for_s",
        type=seconds,
        metavar="SECONDS",
        help="end after so many seconds of the car's time",
    )


def _wire_log(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--wire-log",
        metavar="FILE",
        help="write down every byte to and from the adapter",
    )


def _reach(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--port", help=PORT_HELP)
    parser.add_argument(
        "--baud",
        type=speed_or_auto,
        default=None,
        metavar="auto|N",
        help="speed of a serial port, default auto: it is searched for",
    )


def _record(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--record",
        nargs="?",
        const="",
        metavar="FILE",
        help="write the job down there, or in the usual folder; goes on with a job "
        "file that is there already",
    )
    parser.add_argument(
        "--odometer",
        metavar="DISTANCE",
        help='what it shows, for the record, such as "123456 km" or "76700 mi"',
    )


def _service(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--who", default="", metavar="NAME", help="who works on it, for the record"
    )


def _at_service(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--service", action="store_true", help="begin with the whole service's steps"
    )


def _unfinished(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--afresh",
        action="store_true",
        help="start a new job, even if another was not closed",
    )


def _add_service(verbs: _Verbs) -> None:
    service = verbs.add_parser(
        "service", help="the steps of the whole service, with no car connected"
    )
    service.add_argument("--profile", metavar="SHEET", help="sheet name or TOML file")
    _record(service)
    service.add_argument(
        "--no-record", action="store_true", help="do not write the job down"
    )
    _service(service)
    _unfinished(service)
    _output(service)
    service.add_argument(
        "--lines", action="store_true", help="list the sheet's words for typed lines"
    )


def _add_live(verbs: _Verbs) -> None:
    live = verbs.add_parser("live", help="watch a car through an adapter")
    _reach(live)
    live.add_argument("--profile", metavar="SHEET", help="sheet name or TOML file")
    add_hand_flags(live)
    live.add_argument(
        "--interval",
        type=interval,
        default=0.2,
        metavar="SECONDS",
        help="between two rounds of questions; 0: as fast as it goes (default 0.2)",
    )
    _wire_log(live)
    _record(live)
    live.add_argument(
        "--no-record", action="store_true", help="do not write the job down"
    )
    add_phone_flags(live)
    _service(live)
    _at_service(live)
    _unfinished(live)
    _output(live)


def _car(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--profile", metavar="SHEET", help="sheet name or TOML file")
    parser.add_argument("--scene", default="cold-start", help="default cold-start")
    parser.add_argument(
        "--trace", metavar="FILE", help="play a recorded curve as the fluid"
    )
    parser.add_argument(
        "--speed", type=factor, default=1.0, metavar="N", help="times life, default 1"
    )
    parser.add_argument("--seed", type=int, default=0, help="for what is random")
    parser.add_argument(
        "--faults", metavar="FILE", help="TOML file of faults and their times"
    )


def _add_demo(verbs: _Verbs) -> None:
    demo = verbs.add_parser("demo", help="the same on a simulated car")
    _car(demo)
    _wire_log(demo)
    _record(demo)
    add_phone_flags(demo)
    _service(demo)
    _at_service(demo)
    _output(demo)


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
    _output(replay)


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


def _sentence(problem: SumpgateError) -> str:
    """Return an error on one line of a fair length, safe for a terminal."""
    from bridge.units import printable
    from tui.words import link_wording

    said = link_wording.sentence(problem.cause, str(problem))
    return printable(" ".join(said.split()), _LONGEST_SENTENCE)


def _start() -> int:
    """Open the start screen; without a terminal, say how the program is used."""
    if has_terminal():
        return begin(main)
    raise UsageError(
        "no verb was given, and there is no terminal for the start screen: "
        "'sumpgate --help' shows the verbs"
    )


def _run(args: argparse.Namespace) -> int:
    """Run the verb; what it left out is asked for on the start screen."""
    if getattr(args, "json", False):
        console.for_programs(sys.stdout)
    if args.verb is None:
        return _start()
    verb = importlib.import_module(f"tui.cli.{args.verb}_verb")
    try:
        code: int = verb.run(args)
    except GapError as gap:
        if args.json or not has_terminal():
            raise
        return begin(main, gap)
    return code


def main(argv: list[str] | None = None) -> int:
    """Run one verb and return its exit code; every error is one sentence."""
    signals.heed()
    console.degrade()
    try:
        code = _run(build_parser().parse_args(argv))
    except SumpgateError as problem:
        print(f"sumpgate: {_sentence(problem)}", file=sys.stderr)
        return problem.exit_code
    except KeyboardInterrupt:
        return signals.exit_code(INTERRUPTED)
    except RuntimeError as problem:
        # Python 3.11 wraps an interrupt that falls into the making of a class.
        if isinstance(problem.__cause__, KeyboardInterrupt):
            return signals.exit_code(INTERRUPTED)
        raise
    except BrokenPipeError:
        from tui.headless.run_json import mute_stdout

        mute_stdout()
        return 0
    return signals.exit_code(code)


if __name__ == "__main__":
    sys.exit(main())
