"""The version stands in two places, and they must agree."""

import tomllib
from pathlib import Path

from tui.cli.main import VERSION


def test_the_tool_tells_the_version_it_is_packaged_as() -> None:
    project = Path(__file__).parents[2] / "pyproject.toml"
    assert tomllib.loads(project.read_text("utf-8"))["project"]["version"] == VERSION
