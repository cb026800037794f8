"""The one check: lint, format, types, import rules, tests. The same here and in CI."""

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
    ("pytest", "-q", "-n", "auto"),
)


def main() -> int:
    """Run every step; stop at the first that fails."""
    for step in STEPS:
        print(f"== {' '.join(step)}", flush=True)
        tool = BIN / step[0]
        done = subprocess.run(
            [str(tool), *step[1:]], cwd=ROOT, env={**os.environ, "COLUMNS": "100"}
        )
        if done.returncode:
            return done.returncode
    return 0


if __name__ == "__main__":
    sys.exit(main())
