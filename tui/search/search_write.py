"""Putting what was found into a sheet, or on the screen."""

from __future__ import annotations

import time
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.level.found_signal import spell, why_not
from bridge.search.confirming import checkpoints, signal_of
from bridge.search.ranking import rank
from bridge.values.errors import UsageError
from bridge.values.found import Checkpoint, Found
from tui.words import search_wording

if TYPE_CHECKING:
    from bridge.search.ledger import Ledger
    from bridge.search.ranking import Candidate
    from tui.search.search_show import Show

LEAST_CHANCE = 0.05


def when(t_s: float) -> str:
    """Return a time as a sheet has it, in UTC."""
    return time.strftime("%Y-%m-%d %H:%M:%SZ", time.gmtime(t_s))


def base_text(args: Namespace) -> tuple[str, str]:
    """Return the sheet to add to, and what it is called.

    Raises:
        UsageError: neither a sheet nor a window is named. SheetError.
    """
    from bridge.sheets import find_sheet, load, parse_sheet
    from bridge.sheets.sheet_writer import fresh_sheet

    if args.profile:
        load(args.profile)
        return find_sheet(args.profile).read_text("utf-8-sig"), args.profile
    if not args.window:
        raise UsageError(
            "--write needs a sheet to add to (--profile SHEET) or at least the window "
            'of the service manual (--window "42 degC, 52 degC")'
        )
    ends = [part.strip() for part in args.window.split(",")]
    if len(ends) != 2:
        raise UsageError(
            f"{args.window!r} is no window: write two temperatures with their units, "
            'such as "42 degC, 52 degC"'
        )
    text = fresh_sheet(
        "My gearbox",
        (ends[0], ends[1]),
        search_wording.TYPED_BY_HAND,
    )
    parse_sheet(text, "--window")
    return text, str(args.write)


def write_found(args: Namespace, show: Show, ledger: Ledger, *, utc_s: float) -> None:
    """Write the likeliest candidate into a sheet, or show the lines for it."""
    from bridge.sheets.sheet_writer import found_lines, signal_lines, with_signal

    found = rank(ledger.watch)
    pick = found[args.pick - 1] if len(found) >= args.pick else None
    if pick is None or (pick.chance < LEAST_CHANCE and args.pick == 1):
        show.say(search_wording.NOTHING_FOUND)
        show.put({"stage": "end", "written": None, "confirmed": False})
        return
    checks = checkpoints(ledger.watch, pick.address, pick.place, when)
    why = why_not(checks)
    note = Found(when=when(utc_s), how=_how(pick, args), signal="", checkpoints=checks)
    signal = signal_of(pick)
    if args.write:
        text, name = base_text(args)
        _put(Path(args.write), with_signal(text, name, signal, note))
        show.say(search_wording.WRITTEN.format(args.write, args.write))
    else:
        shown = Found(when=note.when, how=note.how, signal=spell(signal),
                      checkpoints=checks)  # fmt: skip
        for line in [*signal_lines(signal), "", *found_lines(shown)]:
            show.say(line)
    show.say(search_wording.CONFIRMED if not why else
             search_wording.NOT_CONFIRMED.format(why))  # fmt: skip
    show.put(
        {
            "stage": "end",
            "written": args.write,
            "confirmed": not why,
            "why": why or None,
            "chance": round(pick.chance, 4),
        }
    )


def _how(pick: Candidate, args: Namespace) -> str:
    place = "first" if args.pick == 1 else f"number {args.pick}"
    return search_wording.HOW_FOUND.format(pick.address.request_id, place, pick.chance)


def _put(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as problem:
        raise UsageError(
            f"the sheet {path} cannot be written ({problem.strerror}): name another "
            "file"
        ) from None


def keep_checks(path: Path, checks: tuple[Checkpoint, ...], found: Found) -> None:
    """Write a sheet's comparisons anew.

    Raises:
        UsageError, SheetError: it cannot be written, or is no sheet.
    """
    from bridge.sheets.sheet_writer import with_found

    text = path.read_text("utf-8-sig")
    new = Found(when=found.when, how=found.how, signal=found.signal, checkpoints=checks)
    _put(path, with_found(text, str(path), new))
