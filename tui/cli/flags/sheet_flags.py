"""The command line of `sumpgate sheet`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bridge.values.errors import UsageError

if TYPE_CHECKING:
    import argparse
    from typing import Any

    from bridge.values.sheet import Sheet


def with_level_step(sheet: Sheet, name: str) -> Sheet:
    """Return a sheet whose level is set inside a window.

    Raises:
        UsageError: its level is set by measuring what goes in.
    """
    if sheet.has_level_step:
        return sheet
    raise UsageError(
        f"{name} sets the level by measuring what goes in: there is no window to watch "
        "and nothing to open; use sumpgate service"
    )


def add_sheet_verbs(verbs: Any) -> None:
    """Add `sheet` and its actions."""
    sheet = verbs.add_parser("sheet", help="list, show, check or write sheets")
    actions = sheet.add_subparsers(dest="action", required=True, metavar="ACTION")
    _units(actions.add_parser("list", help="the sheets that come with the tool"))
    show = actions.add_parser("show", help="what a sheet says, in your units")
    show.add_argument("sheet", metavar="SHEET", help="sheet name or TOML file")
    show.add_argument("--toml", action="store_true", help="the file as it is, to copy")
    _out(show)
    _units(show)
    check = actions.add_parser("check", help="read it like a reviewer")
    check.add_argument("sheet", metavar="SHEET", help="sheet name or TOML file")
    _units(check)
    _add_new(actions)
    schema = actions.add_parser(
        "schema", help="the format as a JSON Schema, for editors"
    )
    _out(schema)


def _add_new(actions: Any) -> None:
    new = actions.add_parser(
        "new",
        help="ask the few questions and write a sheet",
        description="Asks the few questions on the terminal and writes a sheet with "
        "comments. An empty answer leaves a figure out, < goes back.",
    )
    new.add_argument("file", nargs="?", metavar="FILE", help="the file to write")
    new.add_argument(
        "--answers", metavar="FILE", help="take the answers from there, one a line"
    )
    _units(new)


def _out(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--out", metavar="FILE", help="write it there, in UTF-8, instead of printing it"
    )
    parser.add_argument(
        "--force", action="store_true", help="write over a file that is there"
    )


def _units(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--units",
        choices=("metric", "us"),
        help="default: us where the screen was set to °F, else metric",
    )
