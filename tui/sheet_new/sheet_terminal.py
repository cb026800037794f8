"""The questions on a plain terminal: lines in, lines out, a file at the end."""

from __future__ import annotations

import contextlib
import os
import re
import sys
import tempfile
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path

from bridge.plain_file import SMALL_BYTES, read_plain
from bridge.sheets import parse_sheet
from bridge.sheets.warnings.all_warnings import doubts_of
from bridge.units import Units
from bridge.values.errors import SheetError, UsageError
from tui.sheet_new.answer_reading import understood
from tui.sheet_new.new_sheet import sheet_toml
from tui.sheet_new.questions import HELP, Interview, Question

Ask = Callable[[str], str]
"""Shows a prompt and returns a line; raises EOFError at the end of the answers."""

_ENDED = (
    "the answers ended before the last question, so nothing was written; "
    "answer all of them, an empty line leaves a figure out"
)
_YES = ("y", "yes")


def write_new_sheet(args: Namespace, units: Units) -> int:
    """Ask, write, and say what there is to doubt; return the exit code."""
    ask = _from_file(Path(args.answers)) if args.answers else _from_terminal
    try:
        return _write(args.file, units, ask, strict=bool(args.answers))
    except EOFError:
        raise UsageError(_ENDED) from None
    except KeyboardInterrupt:
        print("\nsumpgate: interrupted, so nothing was written", file=sys.stderr)
        return 130


def _write(file: str | None, units: Units, ask: Ask, *, strict: bool) -> int:
    if file and not _may_write(Path(file), ask):
        print("Nothing was written.")
        return 0
    print("Empty leaves a figure out, ? explains, < goes back, Ctrl-C ends.")
    answers = _interview(units, ask, strict=strict)
    path = Path(file) if file else _ask_path(answers["name"], ask)
    if path is None:
        print("Nothing was written.")
        return 0
    text = sheet_toml(answers, units)
    sheet = parse_sheet(text, str(path))  # a sheet we write can be used
    _save(path, text)
    print(f"{path} was written.")
    for doubt in doubts_of(sheet, units):
        print(f"doubt: {doubt}")
    return 0


def _interview(units: Units, ask: Ask, *, strict: bool) -> dict[str, str]:
    interview = Interview(units=units)
    while (question := interview.question) is not None:
        line = ask(interview.prompt()).strip()
        said = interview.tell(line) or _trouble(interview)
        if said and strict and line != HELP:
            raise UsageError(f'the answer "{line[:60]}" to "{question.ask}": {said}')
        if said:
            print(f"  {said}")
        elif question.name in interview.answers:
            _echo(interview.answers[question.name], question, units)
    return interview.answers


def _echo(answer: str, question: Question, units: Units) -> None:
    """Say what a quantity in another unit, or an identifier, was taken for."""
    if question.echoed:
        print(f"  = {answer}")
    elif same := understood(answer, question.dimension, units):
        print(f"  = {same}")


def _trouble(interview: Interview) -> str:
    """Return what keeps the finished sheet from being read; the person may mend it."""
    if interview.question is not None:
        return ""
    try:
        parse_sheet(sheet_toml(interview.answers, interview.units), "the sheet")
    except SheetError as mistake:
        interview.reopen("request_id")
        return f"These answers do not fit together: {str(mistake).partition(': ')[2]}"
    return ""


def _from_terminal(prompt: str) -> str:
    try:
        return input(prompt)
    except UnicodeDecodeError:
        raise UsageError("an answer is not UTF-8 text; type it again so") from None


def _from_file(path: Path) -> Ask:
    what = "a text file with one answer a line"
    text = read_plain(path, what, most_bytes=SMALL_BYTES)
    lines = iter(text.splitlines())

    def ask(prompt: str) -> str:
        line = next(lines, None)
        if line is None:
            raise EOFError
        print(f"{prompt}{line}")
        return line

    return ask


def _may_write(path: Path, ask: Ask) -> bool:
    if path.is_dir() or not path.absolute().parent.is_dir():
        raise UsageError(f"{path} is no file that can be written; name another")
    if not path.exists():
        return True
    answer = ask(f"{path} is there already. Overwrite it (yes, no)? ")
    return answer.strip().lower() in _YES


def _ask_path(name: str, ask: Ask) -> Path | None:
    slug = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "gearbox"
    answer = ask(f"File to write (empty: {slug}.toml)? ").strip()
    path = Path(answer or f"{slug}.toml")
    return path if _may_write(path, ask) else None


def _save(path: Path, text: str) -> None:
    """Write the file whole or not at all."""
    name = ""
    try:
        handle, name = tempfile.mkstemp(dir=path.absolute().parent, prefix=".sheet-")
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException as problem:
        with contextlib.suppress(OSError):
            Path(name).unlink(missing_ok=True)
        if isinstance(problem, OSError):
            raise UsageError(
                f"{path} cannot be written ({problem.strerror}); name another file"
            ) from None
        raise
