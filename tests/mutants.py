"""Lines of the rules changed one place at a time: does a test then fail?

``make mutants``. Runs mutmut afresh (its settings are in pyproject.toml), prints for
each module how many changes a test noticed, and ends with 1 if that is too few
anywhere. ``mutmut show NAME`` prints a change that nothing noticed.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Mapping
from pathlib import Path

from mutmut.stats import status_by_exit_code

ROOT = Path(__file__).resolve().parent.parent
LEAST = 0.90
"""Of a module's changes so many must make a test fail."""
NOTICED = ("killed", "timeout")
"""A change that never ends is one that a test noticed."""
PARTS = {
    "gate": ("level/gate",),
    "step": ("level/step/machine", "level/step/transitions"),
    "reply": ("protocol/reply",),
    "forecast": ("thermal/forecast",),
}


def tried(folder: Path, part: str) -> dict[str, str]:
    """Return what came of each change of a part, by its name."""
    found = {}
    for module in PARTS[part]:
        kept = json.loads((folder / "bridge" / f"{module}.py.meta").read_text("utf-8"))
        for name, code in kept["exit_code_by_key"].items():
            found[name] = status_by_exit_code[code]
    return found


def share(outcomes: Mapping[str, str]) -> float:
    """Return which share of all changes a test noticed, 0..1; of none: 0."""
    noticed = sum(outcome in NOTICED for outcome in outcomes.values())
    return noticed / len(outcomes) if outcomes else 0.0


def told(folder: Path) -> bool:
    """Print each part and what nothing noticed of it; return whether all hold."""
    holds = True
    for part in PARTS:
        found = tried(folder, part)
        counts = Counter(found.values())
        why = ", ".join(f"{n} {outcome}" for outcome, n in counts.most_common())
        print(f"{part}: {len(found)} mutants, {why}: {share(found):.1%} noticed")
        for name, outcome in found.items():
            if outcome not in NOTICED:
                print(f"    {outcome}: {name}")
        holds = holds and share(found) >= LEAST
    return holds


def main() -> int:
    """Try all of them anew."""
    folder = ROOT / "mutants"
    shutil.rmtree(folder, ignore_errors=True)
    tool = Path(sys.executable).parent / "mutmut"
    run = subprocess.run([str(tool), "run", *sys.argv[1:]], cwd=ROOT)
    if run.returncode:
        return run.returncode
    holds = told(folder)
    if not holds:
        print(f"Too few: at least {LEAST:.0%} of each part's mutants must be noticed.")
    return 0 if holds else 1


if __name__ == "__main__":
    sys.exit(main())
