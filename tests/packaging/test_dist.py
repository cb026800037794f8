"""What is released, installed into empty environments and tried there."""

from __future__ import annotations

import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

from bridge import VERSION
from tests.packaging import tryout

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.slow


def run(*command: str, cwd: Path = ROOT) -> None:
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with sdist and wheel, the wheel made from the sdist."""
    out = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "build", "--outdir", str(out))
    return out


def installed(folder: Path, what: str) -> tryout.Program:
    venv.create(folder / "v", with_pip=True)
    home = folder / "v" / ("Scripts" if sys.platform == "win32" else "bin")
    run(str(home / "python"), "-m", "pip", "install", "-q", what, cwd=folder)
    return tryout.Program([str(home / "sumpgate")], folder)


def test_the_wheel_alone_does_the_job(released: Path, tmp_path: Path) -> None:
    (wheel,) = released.glob("*.whl")
    program = installed(tmp_path, str(wheel))
    assert VERSION in program.run("--version").stdout.decode()
    for trial in (tryout.sheets, tryout.demo, tryout.missing_extras):
        trial(program)
    tryout.report(program, pdf=False)


def test_the_sdist_with_all_extras_does_everything(
    released: Path, tmp_path: Path
) -> None:
    (sdist,) = released.glob("*.tar.gz")
    tryout.everything(installed(tmp_path, f"sumpgate[all] @ {sdist.as_uri()}"))


def test_nothing_is_forgotten_and_nothing_too_much(released: Path) -> None:
    (wheel,) = released.glob("*.whl")
    (sdist,) = released.glob("*.tar.gz")
    with zipfile.ZipFile(wheel) as file:
        names = set(file.namelist())
    for folder in ("bridge", "tui", "simulators", "profiles"):
        here = {
            path.relative_to(ROOT).as_posix()
            for path in (ROOT / folder).rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        }
        assert here <= names, sorted(here - names)
    assert not {name for name in names if name.startswith("tests")}
    for path in (ROOT / "docs" / "shell").iterdir():
        assert [n for n in names if "/share/" in n and n.endswith(f"/{path.name}")]
    with tarfile.open(sdist) as packed:
        inside = {name.partition("/")[2] for name in packed.getnames()}
    assert {"LICENSE", "README.md", "CHANGELOG.md"} <= inside
