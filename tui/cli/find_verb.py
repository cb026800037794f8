"""`sumpgate find`: looks for the fluid's temperature where no sheet knows it."""

from __future__ import annotations

import asyncio
import time
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.values.errors import LinkLost, UsageError
from tui.cli.flags.reach import reach
from tui.cli.flags.wire_log_flag import wire_log
from tui.search.search_file import Pen, read_back, usual_path
from tui.search.search_show import Show
from tui.settings import load_settings

if TYPE_CHECKING:
    from bridge.search.ledger import Ledger

INTERRUPTED = 130


def run(args: Namespace) -> int:
    """Search, watch, rank and write; or confirm what a sheet has from a search."""
    from bridge.search.search_plan import read_spans, read_units

    show = Show(as_json=args.json)
    if args.confirm:
        from tui.search.confirm import confirm

        return confirm(args, show)
    spans, units = read_spans(args.ranges), read_units(args.units or "")
    path = Path(args.state) if args.state else usual_path()
    _check_writing(args)
    ledger, car = (None, "") if args.fresh else read_back(path)
    if args.offline:
        return _offline(args, show, ledger, path)
    from tui.search.search_run import SearchRun

    with wire_log(args) as wrap:
        adapter = reach(args, load_settings())
        pen = Pen(path, fresh=args.fresh)
        run_ = SearchRun(args, show, ledger, pen, car, spans, units)
        try:
            code = asyncio.run(run_.whole(wrap(adapter.open)))
        except KeyboardInterrupt:
            show.say(f"stopped; the same command goes on from {path}")
            code = INTERRUPTED
        except LinkLost as lost:
            raise LinkLost(f"{lost}; the same command goes on from {path}") from None
        finally:
            show.finish()
            pen.close()
    return _end(args, show, run_.ledger, code)


def _check_writing(args: Namespace) -> None:
    """Say at once what could not be written in the end."""
    from bridge.units import QuantityError, said_accuracy
    from tui.search.search_write import base_text

    try:
        args.accuracy_c = said_accuracy(args.accuracy)
    except QuantityError as problem:
        raise UsageError(f"--accuracy {problem}") from None
    if args.write:
        base_text(args)


def _offline(args: Namespace, show: Show, ledger: Ledger | None, path: Path) -> int:
    if ledger is None or not ledger.watch.series:
        raise UsageError(
            f"{path} holds no watched warm-up: search and watch first, "
            "without --offline"
        )
    from bridge.search.ranking import rank

    show.table(rank(ledger.watch), ledger.watch)
    return _end(args, show, ledger, 0)


def _end(args: Namespace, show: Show, ledger: Ledger, code: int) -> int:
    """Write what was found, if it was asked for and there is something."""
    from tui.search.search_write import write_found

    if ledger.watch.series:
        write_found(args, show, ledger, utc_s=time.time())
    return code
