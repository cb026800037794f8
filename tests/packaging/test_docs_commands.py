"""Every command the documents name is taken; every make goal they name is there."""

from __future__ import annotations

import contextlib
import io
import re
import shlex
from pathlib import Path

import pytest

from tui.cli.flags.command_line import EXAMPLES, build_parser

ROOT = Path(__file__).parents[2]
PAGES = [*ROOT.glob("*.md"), *ROOT.glob("docs/*.md"), ROOT / "profiles" / "README.md"]
PARTS = {"|", "...", "…"}
"""What a summary of usage has and a command has not."""
STAND_IN = {"N": "1", "SECONDS": "1", "S": "cold-start", "HOST:PORT": "127.0.0.1:0"}


def commands() -> list[tuple[str, str]]:
    """Return page and command, of code blocks and of inline code."""
    found = set()
    for page in PAGES:
        text = page.read_text("utf-8")
        inline = re.findall(r"`(sumpgate [^`]+)`", text)
        lines = re.findall(r"^(?:\$ |\S*/bin/)?(sumpgate .+)$", text, re.MULTILINE)
        fenced = "".join(re.findall(r"```.*?```", text, re.DOTALL))
        found |= {(page.name, " ".join(c.split())) for c in inline}
        found |= {(page.name, c.strip()) for c in lines if c in fenced}
    return sorted(found)


def words(command: str) -> list[str] | None:
    """Return the words after the program's name; None: it is no whole command."""
    told = re.split(r"  +|\s[#(]|\s>|\s\||;|&&", re.sub(r"\[[^\]]*\]", "", command))[0]
    if any(part in command for part in PARTS):
        return None
    return [STAND_IN.get(word, word) for word in shlex.split(told)[1:]]


def refusal(args: list[str]) -> str:
    """Return what the command line says against the words; '': nothing."""
    said = io.StringIO()
    with contextlib.redirect_stderr(said), contextlib.redirect_stdout(said):
        try:
            build_parser().parse_args(args)
        except SystemExit as ended:
            return said.getvalue() if ended.code else ""
    return ""


def examples() -> list[tuple[str, str]]:
    """Return the commands at the end of each verb's help."""
    return [
        (f"help of {verb}", line) for verb, lines in EXAMPLES.items() for line in lines
    ]


@pytest.mark.parametrize(("page", "command"), [*commands(), *examples()])
def test_a_command_of_the_documents_is_taken(page: str, command: str) -> None:
    args = words(command)
    if not args or args[0].isupper():
        return
    no = refusal(args)
    # A command that is only named need not be whole; each word of it must be known.
    assert not no or "required" in no, f"{page}: {no}"


def test_a_command_that_is_none_is_found() -> None:
    assert "invalid choice" in refusal(["lively"])
    assert "unrecognized" in refusal(["sheet", "list", "--all"])


@pytest.mark.parametrize("verb", [name for name in EXAMPLES if name != "sumpgate"])
def test_a_verbs_help_is_grouped_and_ends_with_examples(
    verb: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        build_parser().parse_args([verb, "--help"])
    told = capsys.readouterr().out
    titles = re.findall(r"^([a-z ]+):$", told, re.MULTILINE)
    assert {"job", "output"} < set(titles)
    if verb == "live":
        assert titles == ["options", "connection", "job", "phone", "output"]
        alone = told[told.index("options:") : told.index("connection:")]
        assert re.findall(r"--[a-z-]+", alone) == ["--help"]  # all else is grouped
    assert told.rstrip().endswith(EXAMPLES[verb][-1])


def test_every_make_goal_is_there() -> None:
    made = (ROOT / "Makefile").read_text("utf-8")
    goals = set(re.findall(r"^([a-z-]+):", made, re.MULTILINE))
    shows = re.search(r"^SHOWS := (.*)$", made, re.MULTILINE)
    assert shows is not None
    goals |= {f"show-{name}" for name in shows[1].split()}
    for page in PAGES:
        told = page.read_text("utf-8")
        for goal in re.findall(r"`(?:CI=true )?make ([a-z-]*[a-z])\b(?!-)", told):
            assert goal in goals, f"{page.name}: make {goal}"
