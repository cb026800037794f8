"""Every fault of the bench by name, and many random ones by seed."""

from __future__ import annotations

import random
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.conditions import Verdict
from bridge.values.readings import LinkState
from bridge.values.sheet import Role, Sheet, Window
from simulators.car.scenes import make_bench
from simulators.faults.all_faults import LINK_FAULTS
from simulators.faults.fault_schedule import random_faults
from simulators.serve.bench import Bench
from tests.link.rig import Log, watch
from tests.show.parts.show_run import ShowRun
from tui.headless.json_lines import as_dict
from tui.words.link_wording import sentence

ON_S, OFF_S, END_S = 75.0, 87.0, 115.0
"""No GO comes in the first minute after the first reading."""
STALE_S = 2.0
LAG_C = 0.2
"""More than the sensor's lag can be worth: 10 s at 1 °C a minute."""
RUN_S = 150.0
QUICK_FAULTS = ("refused", "foreign-frame", "silent", "unplugged", "dribble", "noise")


@dataclass(frozen=True, slots=True)
class Found:
    """What went wrong in one run; every number should be 0."""

    believed: int
    false_temps: int
    false_gos: int
    stale_gos: int
    worst_c: float
    gos: int = 0
    """Moments at which GO was shown; with none of them the zeros would mean little."""


def examine(bench: Bench, sheet: Sheet, snapshots: list[Snapshot], log: Log) -> Found:
    """Hold what was believed and shown against what the car really did."""
    signal = sheet.signal(Role.FLUID_TEMPERATURE)
    assert signal is not None
    errors = []
    for reading in log.believed:
        truth = bench.truth(reading.t_s)
        if truth is not None and truth.fluid_c is not None:
            errors.append(abs(reading.value - truth.fluid_c))
    gos = [s for s in snapshots if s.verdict is Verdict.GO]
    return Found(
        believed=len(errors),
        false_temps=sum(e > abs(signal.factor) + LAG_C for e in errors),
        false_gos=sum(_outside(bench, sheet.window, s.t_s) for s in gos),
        stale_gos=sum(s.age_s is None or s.age_s > STALE_S for s in gos),
        worst_c=max(errors, default=0.0),
        gos=len(gos),
    )


def _outside(bench: Bench, window: Window, t_s: float) -> bool:
    truth = bench.truth(t_s)
    if truth is None or truth.fluid_c is None:
        return True
    return not window.low_c <= truth.fluid_c <= window.high_c


def every_fault(told: ShowRun) -> None:
    """Switch each fault on for twelve seconds while GO shows; print the table."""
    names = told.size(QUICK_FAULTS, LINK_FAULTS)
    print(f"Each fault for {OFF_S - ON_S:g} s while GO shows (simulated seconds)")
    print(f"{'fault':24}{'known':>7}{'live again':>12}  reasons; what is said")
    with ProcessPoolExecutor() as pool:
        rows = list(pool.map(_one_fault, names))
    for row, found in rows:
        print(row)
        if _any(found) or not found.gos:
            told.misses.append(f"{row.split()[0]}: {found}")
    told.tell("faults", len(rows))
    told.tell("worst_error_c", max(f.worst_c for _, f in rows))


FROM_THE_START = (
    "count-digit-refused",
    "command-refused",
    "echo-stays",
    "empty-answer",
    "junk-before-banner",
    "late-prompt-after-ate0",
    "filter-refused",
    "slow-search",
    "slow-clone",
    "latency-tick",
    "no-checksum",
    "29-bit-units",
    "header-refused",
    "gearbox-alone",
)
"""What bites while connecting: these stay on from the start."""
START_FOR_S = 80.0


def faults_from_the_start(told: ShowRun) -> None:
    """Connect with a fault already there; print when the fluid is read, or why not."""
    print(f"There from the start, for {START_FOR_S:g} s (simulated seconds)")
    print(f"{'fault':24}{'first reading':>14}{'first GO':>10}  else: what is said")
    with ProcessPoolExecutor() as pool:
        names = told.size(FROM_THE_START[:4], FROM_THE_START)
        rows = list(pool.map(_from_start, names))
    for row, found in rows:
        print(row)
        if _any(found):
            told.misses.append(f"from the start, {row.split()[0]}: {found}")
    told.tell("faults_from_the_start", len(rows))
    told.tell("from_the_start_went", sum(f.gos > 0 for _, f in rows), least=1)


def _from_start(name: str) -> tuple[str, Found]:
    sheet = load("scar-eight-speed")
    bench = make_bench("warm-day", sheet)
    bench.fault(name)
    log = Log()
    snapshots, _ = watch(bench, sheet, START_FOR_S, log=log)
    read = next((s.t_s for s in snapshots if s.raw_c is not None), None)
    went = next((s.t_s for s in snapshots if s.verdict is Verdict.GO), None)
    last = snapshots[-1]
    said = "" if went is not None else f"{', '.join(last.reasons)}; {_cause(last)}"
    row = f"{name:24}{_seconds(read, 14)}{_seconds(went, 10)}  {said}"
    return row, examine(bench, sheet, snapshots, log)


def _cause(snapshot: Snapshot) -> str:
    if snapshot.link_detail:
        return snapshot.link_detail[:90]
    return next((f.detail for _, f in snapshot.faults), "")[:90]


def _one_fault(name: str) -> tuple[str, Found]:
    sheet = load("scar-eight-speed")
    bench = make_bench("warm-day", sheet)
    log = Log()
    switch = {
        ON_S: lambda: bench.fault(name),
        OFF_S: lambda: bench.fault(name, on=False),
    }
    snapshots, _ = watch(bench, sheet, END_S, at=switch, log=log)
    during = [s for s in snapshots if ON_S < s.t_s < OFF_S]
    known = next((s for s in during if _told(s)), None)
    live = next((s.t_s - OFF_S for s in snapshots if s.t_s >= OFF_S and _well(s)), None)
    row = f"{name:24}{_seconds(known and known.t_s - ON_S)}{_seconds(live, 12)}  "
    return row + _words(known, during), examine(bench, sheet, snapshots, log)


def _told(snapshot: Snapshot) -> bool:
    return snapshot.link is not LinkState.LIVE or bool(snapshot.faults)


def _well(snapshot: Snapshot) -> bool:
    fresh = snapshot.age_s is not None and snapshot.age_s < 0.5
    return snapshot.link is LinkState.LIVE and snapshot.temp_c is not None and fresh


def _seconds(value: float | None, width: int = 7) -> str:
    return f"{'-':>{width}}" if value is None else f"{value:{width}.2f}"


def _words(known: Snapshot | None, during: list[Snapshot]) -> str:
    if known is None:
        return "met without a gap"
    reasons = sorted({str(r) for s in during for r in as_dict(s)["reasons"]})
    told = sentence(known.link_cause, known.link_detail)
    detail = told or next(iter(dict(known.faults).values())).detail
    return f"{', '.join(reasons) or 'none, last value still fresh'}; {detail[:70]}"


def random_runs(told: ShowRun) -> None:
    """Let faults come by chance over many jobs near the window's edges."""
    runs = told.size(24, 200)
    seeds = [told.seed * 100_000 + n for n in range(runs)]
    with ProcessPoolExecutor() as pool:
        found = list(pool.map(_random_run, seeds, chunksize=4))
    print(f"Random faults, about 12 a minute, {RUN_S:g} s, window edges near the fluid")
    told.tell("random_runs", runs)
    told.tell("believed_readings", sum(f.believed for f in found))
    told.tell("moments_of_go", sum(f.gos for f in found), least=runs)
    told.tell("false_temperatures", sum(f.false_temps for f in found), want=0)
    told.tell("go_outside_window", sum(f.false_gos for f in found), want=0)
    told.tell("go_on_stale_reading", sum(f.stale_gos for f in found), want=0)
    told.tell("worst_random_error_c", max(f.worst_c for f in found))
    bad = [s for s, f in zip(seeds, found, strict=True) if _any(f)]
    if bad:
        told.misses.append(f"seeds {bad[:5]}")


def _any(found: Found) -> bool:
    return bool(found.false_temps or found.false_gos or found.stale_gos)


def _random_run(seed: int) -> Found:
    chance = random.Random(seed)
    sheet = load(chance.choice(["scar-eight-speed", "tarn-step-automatic"]))
    bench = make_bench("warm-day", sheet, seed=seed % 1000 + 1)
    start = bench.car.fluid_c or 40.0
    low = start + chance.uniform(-4.0, 0.4)
    sheet = replace(
        sheet,
        window=Window(low_c=low, high_c=low + chance.uniform(3.0, 8.0)),
        settle_time_s=10.0,
    )
    bench.plan(random_faults(seed, 12.0, length_s=RUN_S - 5.0))
    log = Log()
    snapshots, _ = watch(bench, sheet, RUN_S, log=log)
    return examine(bench, sheet, snapshots, log)
