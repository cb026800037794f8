"""`sumpgate sheet`: the sheets that are there, what one says, whether it is sound."""

from __future__ import annotations

import shutil
import sys
from argparse import Namespace

from bridge.units import Units, show_temperature_span
from bridge.values.sheet import Sheet
from tui.console import hand_out
from tui.settings import units_of


def run(args: Namespace) -> int:
    """List, show, check or write sheets, or print the format's schema."""
    actions = {
        "list": _list,
        "show": _show,
        "check": _check,
        "new": _new,
        "schema": _schema,
    }
    return actions[args.action](args)


def _list(args: Namespace) -> int:
    from bridge.sheets import load, shipped_sheets

    units = units_of(args.units)
    for name in shipped_sheets():
        sheet = load(str(name))
        print(f"{name!s:24} {_window(sheet, units):17} {sheet.name}")
    return 0


def _show(args: Namespace) -> int:
    from bridge.sheets import load, read_sheet_text
    from tui.words.sheet_text import sheet_text

    if args.toml:
        hand_out(read_sheet_text(args.sheet)[0], args.out, force=args.force)
        return 0
    width = min(shutil.get_terminal_size((88, 24)).columns, 100)
    said = sheet_text(load(args.sheet), units_of(args.units), width)
    if args.out:
        hand_out(said, args.out, force=args.force)
    else:
        print(said, end="")
    return 0


def _check(args: Namespace) -> int:
    from bridge.sheets import examine, read_sheet_text
    from bridge.sheets.reading.sheet_page import line_of
    from bridge.sheets.warnings.all_warnings import doubts_of

    text, origin = read_sheet_text(args.sheet)
    sheet, mistakes = examine(text, origin)
    if sheet is None:
        for mistake in sorted(mistakes, key=lambda m: getattr(m, "line", 0) or 0):
            print(f"sumpgate: {' '.join(str(mistake).split())}", file=sys.stderr)
        return 2
    units = units_of(args.units)
    doubts = doubts_of(sheet, units)
    signals = f"{len(sheet.signals)} signal{'' if len(sheet.signals) == 1 else 's'}"
    words = f"{_window(sheet, units)}, {signals}, {_steps(sheet)}"
    print(f"{sheet.name}: can be used ({words})")
    for doubt in doubts:
        line = line_of(text, doubt.path) or line_of(text, doubt.path[:-1])
        print(f"doubt{f', line {line}' if line else ''}: {doubt}")
    return 0


def _new(args: Namespace) -> int:
    from tui.sheet_new.sheet_terminal import write_new_sheet

    return write_new_sheet(args, units_of(args.units))


def _schema(args: Namespace) -> int:
    from bridge.sheets.sheet_schema import schema_text

    hand_out(schema_text(), args.out, force=args.force)
    return 0


def _window(sheet: Sheet, units: Units) -> str:
    if not sheet.has_level_step:
        return "measured refill"
    return show_temperature_span(sheet.window.low_c, sheet.window.high_c, units)


def _steps(sheet: Sheet) -> str:
    count = len(sheet.service.order)
    return f"{count} steps" if count else "the level step only"
