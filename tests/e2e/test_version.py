"""The version stands in one place, and everything that tells it agrees."""

import re
import tomllib
from pathlib import Path

import pytest

from bridge import VERSION
from tui.cli.main import main

ROOT = Path(__file__).parents[2]


def test_the_tool_tells_the_one_version(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--version"])
    assert capsys.readouterr().out == f"sumpgate {VERSION}\n"


def test_the_package_takes_it_from_there() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    assert project["project"]["dynamic"] == ["version"]
    assert (
        project["tool"]["setuptools"]["dynamic"]["version"]["attr"] == "bridge.VERSION"
    )


def test_the_newest_release_of_the_changelog_is_this_one() -> None:
    log = (ROOT / "CHANGELOG.md").read_text("utf-8")
    released = re.findall(r"^## (\d+\.\d+\.\d+)", log, re.MULTILINE)
    assert released[0] == VERSION
