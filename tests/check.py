"""The one check: lint, format, types, import rules, tests.

Every day without the tests marked slow; with them wherever CI is set, and then
the site as well. Coverage is no part of it: it doubles the time, and a test that
waits for a clock then fails by chance.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BIN = Path(sys.executable).parent
STEPS: tuple[tuple[str, ...], ...] = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("lint-imports",),
    ("python", "tests/house.py"),
)
SITE = ("sphinx-build", "-q", "-W", "--keep-going", "-b", "html", "docs", "build/site")
WORKERS = str((os.cpu_count() or 1) + 1)
"""One more than there are processors: a quarter of the time a test waits."""
QUICK = ("pytest", "-q", "-n", WORKERS, "-m", "not slow")
WHOLE = ("pytest", "-q", "-n", WORKERS)

SETTINGS = {"COLUMNS": "100", "PYTHONDONTWRITEBYTECODE": ""}
"""Compiling all tests anew for each worker costs more than a third of a day's run."""


def main() -> int:
    """Run every step; stop at the first that fails."""
    everything = os.environ.get("CI", "").lower() in ("1", "true")
    rest = (SITE, WHOLE) if everything else (QUICK,)
    for step in (*STEPS, *rest):
        print(f"== {' '.join(step)}", flush=True)
        tool = BIN / step[0]
        done = subprocess.run(
            [str(tool), *step[1:]], cwd=ROOT, env={**os.environ, **SETTINGS}
        )
        if done.returncode:
            return done.returncode
    return 0


if __name__ == "__main__":
    sys.exit(main())
