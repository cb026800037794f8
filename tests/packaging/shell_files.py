"""Writes docs/shell: completion for bash, zsh and fish, and the man page.

All four are made from the parser itself (shtab, MPL-2.0; argparse-manpage). They go
into the wheel as they lie there; tests/packaging/test_shell_files.py says when they
are stale. ``make shell-files`` writes them anew.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from unittest import mock

import shtab
from argparse_manpage.manpage import Manpage

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from bridge import VERSION  # noqa: E402
from tui.cli.flags.command_line import EXAMPLES, build_parser  # noqa: E402

FOLDER = ROOT / "docs" / "shell"
NAMES = {"bash": "sumpgate", "zsh": "_sumpgate", "fish": "sumpgate.fish"}
"""As each shell wants its file called."""
NOTE = "Made from sumpgate's own parser; helper functions: shtab, MPL-2.0."
_FILES = {"FILE": shtab.FILE, "SHEET": shtab.FILE, "JOB": shtab.FILE}
_FILES |= {"FOLDER": shtab.DIRECTORY, "A": shtab.FILE, "B": shtab.FILE}


def parsers(parser: argparse.ArgumentParser) -> Iterator[argparse.ArgumentParser]:
    """Yield a parser and those of its verbs."""
    yield parser
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for verb in action.choices.values():
                yield from parsers(verb)


def completions() -> dict[str, str]:
    """Return the completion file of each shell, by its name."""
    parser = build_parser()
    for one in parsers(parser):
        for action in one._actions:
            if found := _FILES.get(str(action.metavar)):
                action.complete = found  # type: ignore[attr-defined]
    return {
        name: _noted(shtab.complete(parser, shell)) for shell, name in NAMES.items()
    }


def _noted(text: str) -> str:
    """Put our own note where shtab says how to install what it made."""
    return re.sub(
        r"# AUTOMATICALLY GENERATED.*?\n\n",
        f"# {NOTE}\n\n",
        text,
        count=1,
        flags=re.DOTALL,
    )


def man_page() -> str:
    """Return the page for `man sumpgate`."""
    log = (ROOT / "CHANGELOG.md").read_text("utf-8")
    day = re.search(rf"^## {re.escape(VERSION)} \(([\d-]+)\)", log, re.MULTILINE)
    parser = build_parser()
    for one in parsers(parser):
        one.epilog = None  # formatted text would be run together
    page = Manpage(
        parser,
        {
            "date": day[1] if day else VERSION,
            "project_name": "sumpgate",
            "version": VERSION,
            "manual_title": "sumpgate",
            "description": "set a sealed gearbox's fluid level in its window",
        },
    )
    examples = "\n".join(
        line.replace("\\", "\\e").replace("-", "\\-")
        for lines in EXAMPLES.values()
        for line in lines
    )
    page.add_section("examples", ">", f".nf\n{examples}\n.fi")
    return str(page)


def files() -> dict[str, str]:
    """Return all of them, by name, as wide as a terminal that nobody has asked."""
    with mock.patch.dict(os.environ, COLUMNS="80"):
        return {**completions(), "sumpgate.1": man_page()}


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, text in files().items():
        (FOLDER / name).write_text(text, "utf-8")
