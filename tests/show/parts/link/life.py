"""First moments of a connection, an hour of faults, and Ctrl-C in every state."""

from __future__ import annotations

import gc
import signal
import subprocess
import sys
import threading
import time
import tracemalloc
from pathlib import Path

from bridge.sheets import load
from bridge.values.readings import LinkState
from simulators.car.scenes import make_bench
from simulators.faults.fault_schedule import random_faults
from tests.link.rig import watch
from tests.show.parts.show_run import ShowRun

SILENCE_S, UNPLUG_S, FIRST_S = 1.0, 0.2, 1.5
STATES = ("", "silent", "unplugged", "mute-units", "dribble", "slow-search")


def first_moments(told: ShowRun) -> None:
    """Time the first reading, silence and unplugging, in simulated seconds."""
    sheet, tries = load("scar-eight-speed"), told.size(3, 20)
    print(f"First moments (simulated seconds, worst of {tries})")
    snapshots, _ = watch(make_bench("warm-day", sheet), sheet, 10.0)
    first_s = next(s.t_s for s in snapshots if s.raw_c is not None)
    told.tell("first_fluid_reading_s", first_s, most=FIRST_S)
    for fault, state, name, most in (
        ("silent", LinkState.SILENT, "silence_known_s", SILENCE_S),
        ("unplugged", LinkState.LOST, "unplug_known_s", UNPLUG_S),
    ):
        worst = 0.0
        for place in range(tries):  # at so many moments of the polling round
            at_s = 20.0 + place * 0.26 / tries
            bench = make_bench("warm-day", sheet)
            snapshots, _ = watch(
                bench, sheet, 25.0, at={at_s: lambda b=bench, f=fault: b.fault(f)}
            )
            known = next(s.t_s for s in snapshots if s.link is state)
            worst = max(worst, known - at_s)
        told.tell(name, worst, most=most)


def long_run(told: ShowRun) -> None:
    """Let faults come for an hour; memory, threads and files must not grow."""
    sheet, for_s = load("scar-eight-speed"), told.size(120.0, 3600.0)
    marks: list[tuple[float, int, int]] = []

    def note() -> None:
        gc.collect()
        size_mb = tracemalloc.get_traced_memory()[0] / 1e6
        marks.append((round(size_mb, 2), threading.active_count(), _open_files()))

    bench = make_bench("hot", sheet)
    bench.plan(random_faults(told.seed, 6.0, length_s=for_s))
    tracemalloc.start()
    began = time.monotonic()
    moments = {for_s * share: note for share in (0.25, 0.5, 0.75, 0.99)}
    watch(bench, sheet, for_s, at=moments, keep=False)
    took_s = time.monotonic() - began
    tracemalloc.stop()
    (first_mb, threads, files), (_, last_threads, last_files) = marks[0], marks[-1]
    print(f"Random faults for long: {first_mb} MB, {threads} threads, {files} files")
    told.tell("long_run_s", for_s)
    told.tell("long_run_speed", for_s / took_s)
    # The bench remembers ten minutes of truth: only a long run can show growth.
    most_mb = 1.1 * marks[1][0] if for_s >= 1800.0 else None
    told.tell("traced_mb", marks[-1][0], most=most_mb)
    told.tell("threads", last_threads, most=threads)
    told.tell("open_files", last_files, most=files)


def _open_files() -> int:
    listed = Path("/proc/self/fd")
    return sum(1 for _ in listed.iterdir()) if listed.is_dir() else 0


def interrupts(told: ShowRun) -> None:
    """Send SIGINT to `live --json` in each state of the adapter; time its end."""
    print("Ctrl-C to `live --json` while the adapter is ... (real seconds)")
    worst = 0.0
    for fault in told.size(STATES[:1], STATES):
        took_s, code = _interrupted(fault)
        worst = max(worst, took_s)
        told.tell(f"exit_code_{fault or 'live'}", code, want=130)
    told.tell("interrupt_worst_s", worst)


def _interrupted(fault: str) -> tuple[float, int]:
    run = [sys.executable, "-m", "tui"]
    bench = subprocess.Popen(
        [*run, "bench", "--tcp", "127.0.0.1:0", "--control", "127.0.0.1:0"],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert bench.stdout is not None
    told = sorted(bench.stdout.readline() for _ in range(2))
    control, port = told[0].split()[-1], told[1].split()[-1]
    live = subprocess.Popen(
        [*run, *f"live --port {port} --profile scar-eight-speed".split(),
         "--json", "--no-record"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )  # fmt: skip
    time.sleep(4.0)
    if fault:
        _control(control, f"fault {fault} on")
        time.sleep(2.0)
    began = time.monotonic()
    live.send_signal(signal.SIGINT)
    code = live.wait(timeout=10)
    took_s = time.monotonic() - began
    bench.kill()
    bench.wait()
    bench.stdout.close()
    assert live.stderr is not None
    live.stderr.close()
    return took_s, code


def _control(address: str, line: str) -> None:
    import socket

    host, port = address.rsplit(":", 1)
    with socket.create_connection((host, int(port)), timeout=5) as control:
        control.sendall(line.encode() + b"\n")
        control.recv(1000)
