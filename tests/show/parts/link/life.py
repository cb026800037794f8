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

SILENCE_S, UNPLUG_S, FIRST_S = 1.0, 0.2, 1.5
INTERRUPT_S = 0.5
STATES = ("", "silent", "unplugged", "mute-units", "dribble", "slow-search")


def first_moments(misses: list[str], *, tries: int) -> dict[str, object]:
    """Time the first reading, silence and unplugging, in simulated seconds."""
    sheet = load("scar-eight-speed")
    figures: dict[str, object] = {}
    snapshots, _ = watch(make_bench("warm-day", sheet), sheet, 10.0)
    first = next(s.t_s for s in snapshots if s.raw_c is not None)
    rows = [("first_fluid_reading_s", first, FIRST_S)]
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
        rows.append((name, worst, most))
    print(f"First moments (simulated seconds, worst of {tries})")
    for name, value, most in rows:
        print(f"  {name:24}{value:7.3f}  at most {most}")
        figures[name] = round(value, 3)
        if value > most:
            misses.append(f"{name}: {value:.3f}")
    return figures


def long_run(misses: list[str], *, seed: int, for_s: float) -> dict[str, object]:
    """Let faults come for an hour; memory, threads and files must not grow."""
    sheet = load("scar-eight-speed")
    marks: list[tuple[int, int, int]] = []

    def note() -> None:
        gc.collect()
        size = tracemalloc.get_traced_memory()[0]
        marks.append((size, threading.active_count(), _open_files()))

    bench = make_bench("hot", sheet)
    bench.plan(random_faults(seed, 6.0, length_s=for_s))
    tracemalloc.start()
    began = time.monotonic()
    moments = {for_s * share: note for share in (0.25, 0.5, 0.75, 0.99)}
    watch(bench, sheet, for_s, at=moments, keep=False)
    took_s = time.monotonic() - began
    tracemalloc.stop()
    first, last = marks[0], marks[-1]
    print(f"{for_s:g} s of random faults at {for_s / took_s:.0f} times life")
    for size, threads, files in marks:
        print(f"  {size / 1e6:7.1f} MB traced  {threads} threads  {files} open files")
    # The bench remembers ten minutes of truth: only a long run can show growth.
    if for_s >= 1800.0 and last[0] > 1.1 * marks[1][0]:
        misses.append(f"memory grew: {marks}")
    if last[1] > first[1] or last[2] > first[2]:
        misses.append(f"threads or files grew: {marks}")
    return {
        "long_run_s": for_s,
        "long_run_speed": round(for_s / took_s, 1),
        "threads": [m[1] for m in marks],
        "open_files": [m[2] for m in marks],
        "traced_mb": [round(m[0] / 1e6, 2) for m in marks],
    }


def _open_files() -> int:
    listed = Path("/proc/self/fd")
    return sum(1 for _ in listed.iterdir()) if listed.is_dir() else 0


def interrupts(misses: list[str], *, quick: bool) -> dict[str, object]:
    """Send SIGINT to `live --json` in each state of the adapter; time its end."""
    print("Ctrl-C to `live --json` while the adapter is ... (real seconds)")
    worst = 0.0
    for fault in STATES[:1] if quick else STATES:
        took_s, code = _interrupted(fault)
        worst = max(worst, took_s)
        print(f"  {fault or 'live':16}{took_s:6.2f} s  exit code {code}")
        if code != 130:
            misses.append(f"exit code {code} after Ctrl-C while {fault or 'live'}")
    return {"interrupt_worst_s": round(worst, 2)}


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
        [
            *run,
            "live",
            "--port",
            port,
            "--profile",
            "scar-eight-speed",
            "--json",
            "--no-record",
        ],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
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
