"""What the project promises about itself is what it does."""

from __future__ import annotations

import importlib
import importlib.util
import json
import re
import sys
import tomllib
from pathlib import Path

import pytest

from tests import mutants
from tests.check import STEPS

ROOT = Path(__file__).parents[2]
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
PROJECT = SETTINGS["project"]


def test_pre_commit_runs_what_the_check_runs() -> None:
    hooks = (ROOT / ".pre-commit-config.yaml").read_text("utf-8")
    entries = re.findall(r"entry: \.venv/bin/([^,]+),", hooks)
    assert entries == [" ".join(step) for step in STEPS]


def test_ci_runs_the_readmes_test_command_and_all_tests() -> None:
    told = (ROOT / ".ci" / "run").read_text("utf-8").splitlines()
    assert told[-2:] == ["export CI=true", "make test"]
    assert re.search(
        r"^make test\b", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE
    )


def test_what_is_imported_is_declared() -> None:
    told = list(PROJECT["dependencies"])
    for extra in ("ble", "pdf", "phone"):
        told += PROJECT["optional-dependencies"][extra]
    declared = {re.split(r"[<>=]", name)[0].strip().lower() for name in told}
    named = {"pyserial": "serial", "pillow": "PIL"}
    modules = {named.get(name, name) for name in declared}
    used = set()
    for folder in ("bridge", "tui", "simulators"):
        for path in (ROOT / folder).rglob("*.py"):
            found = re.findall(
                r"^\s*(?:from|import) (\w+)", path.read_text("utf-8"), re.MULTILINE
            )
            used |= set(found)
    here = {"bridge", "tui", "simulators", "profiles", "msvcrt"}
    foreign = used - set(sys.stdlib_module_names) - here
    assert {m for m in foreign if _is_module(m)} <= modules
    for name in declared:
        assert all(">=" in line for line in told if line.lower().startswith(name))


def _is_module(name: str) -> bool:
    """Leave out words of docstrings that begin a line like an import."""
    try:
        return importlib.util.find_spec(name) is not None
    except ValueError:
        return False


def test_what_python_may_count_on_is_there() -> None:
    told = (ROOT / "docs" / "public.md").read_text("utf-8")
    for name in re.findall(r"`(bridge\.[a-z_.]+)`", told):
        parent, _, last = name.rpartition(".")
        assert hasattr(importlib.import_module(parent), last), name


def test_the_readmes_figures_are_those_of_the_run() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    run = (ROOT / "docs" / "forecast.md").read_text("utf-8")
    ways = ("straight line", "Holt", "fitted exponential", r"\*\*sumpgate\*\*")
    kinds = ("simulated, all", "idling", "real, driving", "real, cooling")
    for kind in kinds:
        (row,) = re.findall(rf"^\| {kind} \| (.*) \|$", readme, re.MULTILINE)
        begins = run.index(f"| **{kind}**")
        told = run[begins : run.find("\n| **", run.index("**sumpgate**", begins) + 14)]
        for way, figure in zip(ways, map(str.strip, row.split("|")), strict=True):
            found = re.search(
                rf"^\| .*{way}[^|]*\| \S+ \| (\S+) \|", told, re.MULTILINE
            )
            assert (found[1] if found else "") == figure, (kind, way)


def test_the_parts_whose_mutants_are_counted_are_those_that_are_made() -> None:
    counted = {f"bridge/{m}.py" for part in mutants.PARTS.values() for m in part}
    assert counted == set(SETTINGS["tool"]["mutmut"]["only_mutate"])
    for chosen in SETTINGS["tool"]["mutmut"]["pytest_add_cli_args_test_selection"]:
        assert (ROOT / chosen).exists(), chosen


@pytest.mark.parametrize(
    ("other", "holds"), [(1, True), (36, True), (0, False), (33, False), (None, False)]
)
def test_too_few_mutants_noticed_in_one_part_is_a_failure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], other: int | None, holds: bool
) -> None:
    # mutmut's codes: 1 killed, 36 timeout, 0 survived, 33 no tests, None not tried
    for part, modules in mutants.PARTS.items():
        for module in modules:
            kept = tmp_path / "bridge" / f"{module}.py.meta"
            kept.parent.mkdir(parents=True, exist_ok=True)
            codes = [1] * 89 + [0] * 10 + [other if part == "gate" else 1]
            named = {f"{module}_{n}": code for n, code in enumerate(codes)}
            kept.write_text(json.dumps({"exit_code_by_key": named}))
    assert mutants.told(tmp_path) is holds
    said = capsys.readouterr().out
    assert f"gate: 100 mutants, {90 if other == 1 else 89} killed" in said
    assert "survived: level/gate_95" in said
