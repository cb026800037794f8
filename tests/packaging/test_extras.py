"""Without the extras the program starts, and says in one sentence what to install."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.packaging import tryout

ROOT = Path(__file__).parents[2]
GONE = ("reportlab", "PIL", "h11", "segno", "starlette", "uvicorn", "bleak")


@pytest.fixture
def bare(tmp_path: Path) -> tryout.Program:
    """The program with no extra installed."""
    hide = tmp_path / "hide"
    hide.mkdir()
    hiding = f"import sys\nfor name in {GONE!r}:\n    sys.modules[name] = None\n"
    (hide / "sitecustomize.py").write_text(hiding, "utf-8")
    path = f"{hide}:{ROOT}"
    return tryout.Program([sys.executable, "-m", "tui"], tmp_path, PYTHONPATH=path)


@pytest.mark.slow
def test_the_base_does_the_job(bare: tryout.Program) -> None:
    tryout.demo(bare)
    tryout.report(bare, pdf=False)


@pytest.mark.slow
def test_what_is_missing_is_said_in_one_sentence(bare: tryout.Program) -> None:
    tryout.missing_extras(bare)
