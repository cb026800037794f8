"""The lowest versions the bounds allow, in an environment of their own, tried there.

``make lowest``. Prints what was installed; ends with 1 if anything fails.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(Path(__file__).parent))
import tryout

EXTRAS = ("ble", "pdf", "phone")


def lowest(project: dict) -> list[str]:
    """Return each bound's lower end as an exact version."""
    told = list(project["dependencies"])
    for extra in EXTRAS:
        told += project["optional-dependencies"][extra]
    exact = []
    for wanted in map(Requirement, told):
        (low,) = (s.version for s in wanted.specifier if s.operator == ">=")
        exact.append(f"{wanted.name}=={low}")
    return exact


def main() -> int:
    """Install and try."""
    text = (ROOT / "pyproject.toml").read_text("utf-8")
    exact = lowest(tomllib.loads(text)["project"])
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        venv.create(folder / "v", with_pip=True)
        home = folder / "v" / ("Scripts" if sys.platform == "win32" else "bin")
        pip = [str(home / "python"), "-m", "pip", "install", "-q"]
        subprocess.run([*pip, *exact], check=True)
        subprocess.run([*pip, "--no-deps", str(ROOT)], check=True)
        print("\n".join(exact), flush=True)
        tryout.everything(tryout.Program([str(home / "sumpgate")], folder))
        subprocess.run([*pip, "pytest"], check=True)  # the simulated radio is a test's
        over_the_air = [str(home / "python"), str(ROOT / "tests" / "show" / "ble.py")]
        subprocess.run(over_the_air, env={**tryout.kept(), "QUICK": "1"}, check=True)
        print("over the air, simulated: good", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
