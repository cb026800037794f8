"""SIGINT, SIGTERM and SIGHUP end a headless run alike: job sealed, own exit code."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from bridge.jobfile.file.check import check

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")


@pytest.mark.parametrize(
    ("number", "code"),
    [(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)],
)
@pytest.mark.few(1)
def test_a_signal_seals_the_job_and_tells_by_its_exit_code(
    number: int, code: int, tmp_path: Path
) -> None:
    job = tmp_path / "a.job"
    demo = subprocess.Popen(
        [sys.executable, "-m", "tui", "demo", "--json", "--record", str(job)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        # the run of the tests may itself ignore the hang-up, as under nohup
        preexec_fn=lambda: signal.signal(number, signal.SIG_DFL),
    )
    assert demo.stdout is not None
    for _ in range(8):
        demo.stdout.readline()
    demo.send_signal(number)
    demo.send_signal(number)  # a terminal that closes sends it twice
    said = demo.communicate(timeout=30)[1].decode()
    assert demo.returncode == code
    assert "Traceback" not in said
    told = check(job)
    assert "intact" in told.sentence


@pytest.mark.slow
def test_a_run_that_is_to_outlive_its_terminal_does(tmp_path: Path) -> None:
    demo = subprocess.Popen(
        [sys.executable, "-m", "tui", "demo", "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN),
        cwd=Path.cwd(),
        env=None,
    )
    assert demo.stdout is not None
    demo.stdout.readline()
    demo.send_signal(signal.SIGHUP)
    assert [demo.stdout.readline() for _ in range(8)][-1]
    demo.terminate()
    demo.communicate(timeout=30)
    assert demo.returncode == 143
