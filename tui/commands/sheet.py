"""`sumpgate sheet`: the sheets that are there, what one says, whether it is sound."""

from __future__ import annotations

from argparse import Namespace

from bridge.core.model import Sheet


def run(args: Namespace) -> int:
    """List, show or check sheets."""
    actions = {"list": _list, "show": _show, "check": _check}
    return actions[args.action](args)


def _list(_: Namespace) -> int:
    from bridge.profile import load, shipped_sheets

    for name in shipped_sheets():
        sheet = load(str(name))
        print(f"{name!s:28} {_window(sheet):16} {sheet.name}")
    return 0


def _show(args: Namespace) -> int:
    from bridge.profile import find_sheet

    print(find_sheet(args.sheet).read_text("utf-8"), end="")
    return 0


def _check(args: Namespace) -> int:
    from bridge.profile import load, review_sheet

    sheet = load(args.sheet)
    doubts = review_sheet(sheet)
    print(f"{sheet.name}: can be used ({_window(sheet)}, {len(sheet.signals)} signals)")
    for doubt in doubts:
        print(f"doubt: {doubt}")
    return 0


def _window(sheet: Sheet) -> str:
    return f"{sheet.window.low_c:g} to {sheet.window.high_c:g} °C"
