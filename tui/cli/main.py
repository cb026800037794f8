"""Runs one verb; every error becomes one sentence and an exit code.

Exit codes: 0 done; 2 usage or bad input (one sentence on standard error);
3 adapter or car not reached; 130 interrupted, 143 terminated, 129 hung up.
"""

from __future__ import annotations

import importlib
import sys
from typing import TYPE_CHECKING

from bridge.values.errors import SumpgateError, UsageError
from tui import console, interrupts, loading
from tui.cli.flags.command_line import build_parser
from tui.headless.no_screen import screenless
from tui.interrupts import INTERRUPTED
from tui.start.begin import begin, has_terminal
from tui.start.gap import GapError

if TYPE_CHECKING:
    import argparse

_LONGEST_SENTENCE = 1200


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
    loading.over()
    try:
        code: int = verb.run(args)
    except GapError as gap:
        if screenless(args) or not has_terminal():
            raise
        return begin(main, gap)
    return code


def main(argv: list[str] | None = None) -> int:
    """Run one verb and return its exit code; every error is one sentence."""
    interrupts.heed()
    console.degrade()
    loading.begun()
    try:
        given = sys.argv[1:] if argv is None else argv
        code = _run(build_parser("".join(given[:1])).parse_args(given))
    except SumpgateError as problem:
        print(f"sumpgate: {_sentence(problem)}", file=sys.stderr)
        return problem.exit_code
    except KeyboardInterrupt:
        return interrupts.exit_code(INTERRUPTED)
    except RuntimeError as problem:
        # Python 3.11 wraps an interrupt that falls into the making of a class.
        if isinstance(problem.__cause__, KeyboardInterrupt):
            return interrupts.exit_code(INTERRUPTED)
        raise
    except BrokenPipeError:
        from tui.headless.run_lines import mute_stdout

        mute_stdout()
        return 0
    finally:
        loading.over()
    return interrupts.exit_code(code)


if __name__ == "__main__":
    sys.exit(main())
