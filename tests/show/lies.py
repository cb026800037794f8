"""`make show-lies`: units that lie about the fluid, each held against the truth.

Seconds of GO while the fluid itself is outside the window, by family; and what the
doubts cost on honest units: jobs with a false alarm, and seconds of GO lost to one.
SEED=N for other cases, QUICK=1 for a short run, EACH=N cases of each family. The last
line is JSON; exit 1 if GO shows outside where other evidence exists, or more than one
honest job in fifty has a false alarm.
"""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing import Pool
from pathlib import Path

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
_ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(_ROOT))

import numpy as np  # noqa: E402

from bridge.session.session import apply, snapshot_at  # noqa: E402
from bridge.session.session_state import Session, begin  # noqa: E402
from bridge.thermal.estimator import Sensor  # noqa: E402
from bridge.values.conditions import Reason, Verdict  # noqa: E402
from bridge.values.events import LinkChange  # noqa: E402
from bridge.values.readings import LinkState, Reading  # noqa: E402
from bridge.values.sheet import EngineRule, Role, Sheet, Signal  # noqa: E402
from tests.show.parts.lies.families import HONEST, LIARS, real  # noqa: E402
from tests.show.parts.lies.world import CODES_C, Case  # noqa: E402
from tests.show.parts.show_run import ShowRun  # noqa: E402

TOLD = ShowRun("lies")
EACH = int(os.environ.get("EACH", TOLD.size("2", "30")))
"""Cases of each family."""
CURVES = range(1, 25, TOLD.size(6, 1))
FALSE_ALARMS = 1 / 50
ALARMS = frozenset(
    {
        Reason.SENSOR_JUMPED,
        Reason.SENSOR_STOPPED,
        Reason.SENSOR_STUCK,
        Reason.SENSOR_OFFSET,
        Reason.SENSOR_BELOW_AIR,
        Reason.SENSOR_IS_COOLANT,
    }
)
WAITING = frozenset({Reason.TEMPERATURE_UNCERTAIN, Reason.READING_IMPLAUSIBLE})


@dataclass(kw_only=True)
class Found:
    """What came of one case, in seconds."""

    family: str
    honest: bool
    evidence: bool
    go: float = 0.0
    outside: float = 0.0
    alarmed: float = 0.0
    """A doubt about the sensor stood with the fluid inside the window."""
    lost: float = 0.0
    """GO but for such a doubt."""
    waited: float = 0.0
    """GO but for a wait for more readings."""
    reasons: tuple[str, ...] = ()


def open_session(case: Case) -> Session:
    """Return the session of a case before its first reading."""
    idling = case.rpm is None or bool(np.any(case.rpm[-60:] > 0))
    sheet = Sheet(
        name="lies",
        source="seeded",
        window=case.window,
        engine=EngineRule.IDLING if idling else EngineRule.OFF,
        signals=(Signal(role=Role.FLUID_TEMPERATURE, factor=case.code_c),),
    )
    assumed = {Role.VEHICLE_SPEED: 0.0}
    if case.rpm is None:
        assumed[Role.ENGINE_SPEED] = 780.0
    session = begin(
        sheet,
        interval_s=case.dt_s,
        sensor=Sensor(resolution_c=case.code_c),
        assumed=assumed,
    )
    return apply(session, LinkChange(state=LinkState.LIVE, t_s=0.0))


def hear(session: Session, case: Case, n: int) -> Session:
    """Return the session after the readings of one moment."""
    t_s = 1.0 + n * case.dt_s
    whole = n % round(1.0 / case.dt_s) == 0
    told: list[tuple[Role, float]] = []
    if whole and case.rpm is not None:
        told.append((Role.ENGINE_SPEED, float(case.rpm[n])))
    if whole and case.coolant_c is not None:
        told.append((Role.COOLANT_TEMPERATURE, round(float(case.coolant_c[n]))))
    if whole and case.ambient_c is not None and n % 30 == 0:
        told.append((Role.AMBIENT_TEMPERATURE, round(case.ambient_c)))
    if whole and case.selector is not None:
        told.append((Role.SELECTOR, float(case.selector[n])))
    if not math.isnan(case.says_c[n]):
        told.append((Role.FLUID_TEMPERATURE, float(case.says_c[n])))
    for role, value in told:
        session = apply(session, Reading(role=role, value=value, t_s=t_s))
    return session


def judge(case: Case) -> Found:
    """Run one case; looked at only while the value is inside, where GO can be."""
    found = Found(family=case.family, honest=case.honest, evidence=case.evidence)
    session, marks = open_session(case), list(case.told)
    low, high, seen = case.window.low_c, case.window.high_c, set()
    for n in range(len(case.says_c)):
        now_s = 1.0 + n * case.dt_s
        while marks and marks[0].t_s <= now_s:
            session = apply(session, marks.pop(0))
        session = hear(session, case, n)
        if not low <= case.says_c[n] <= high:
            continue
        shown = snapshot_at(session, now_s=now_s)
        reasons = frozenset(shown.reasons)
        outside = not low <= case.true_c[n] <= high
        if shown.verdict is Verdict.GO:
            found.go += case.dt_s
            found.outside += case.dt_s * outside
        elif not outside:
            alarms = reasons & ALARMS
            found.alarmed += case.dt_s * bool(alarms)
            seen |= {r.value for r in alarms}
            alone = reasons <= ALARMS | WAITING
            found.lost += case.dt_s * (alone and bool(alarms))
            found.waited += case.dt_s * (alone and not alarms)
    found.reasons = tuple(sorted(seen))
    return found


Task = tuple[str, int, int]


def work(task: Task) -> Found:
    """Make and judge one case."""
    kind, which, number = task
    rng = np.random.default_rng([TOLD.seed, len(kind), which, number])
    if kind == "real":
        return judge(real(rng, which, CODES_C[number]))
    makers: tuple[Callable[[np.random.Generator], Case], ...]
    makers = LIARS if kind == "liar" else HONEST
    return judge(makers[which](rng))


def tasks() -> list[Task]:
    """Every case of this run."""
    liars = [("liar", f, i) for f in range(len(LIARS)) for i in range(EACH)]
    honest = [("honest", f, i) for f in range(len(HONEST)) for i in range(EACH)]
    return [
        *liars,
        *honest,
        *(("real", number, code) for number in CURVES for code in range(len(CODES_C))),
    ]


def table(found: list[Found]) -> dict[str, list[float]]:
    """Print a row for each family, and return its figures."""
    rows: dict[str, list[float]] = {}
    for name in dict.fromkeys(f.family for f in found):
        some = [f for f in found if f.family == name]
        outside, go = sum(f.outside for f in some), sum(f.go for f in some)
        hit = sum(f.outside > 0 for f in some)
        lost, alarms = sum(f.lost for f in some), sum(f.alarmed > 0 for f in some)
        waited = sum(f.waited for f in some)
        rows[name] = [len(some), go, outside, hit, alarms, lost, waited]
        why = ",".join(sorted({r for f in some for r in f.reasons if f.honest}))
        kind = "" if some[0].honest else "yes" if some[0].evidence else "none"
        print(
            f"{name:28}{kind:>9}{len(some):6}{go:9.0f}{outside:9.1f}{hit:6}"
            f"{alarms:8}{lost:8.0f}{waited:8.0f}  {why}"
        )
    return rows


def main() -> int:
    """Show everything; 1 if a figure misses."""
    todo = tasks()
    found: list[Found] = []
    with Pool(2) as pool:
        for one in pool.imap(work, todo, chunksize=2):
            found.append(one)
            if len(found) % 50 == 0:
                print(f"{len(found)} of {len(todo)}", file=sys.stderr, flush=True)
    print(
        f"{'family':28}{'evidence':>9}{'jobs':>6}{'GO, s':>9}{'outside':>9}{'jobs':>6}"
        f"{'alarms':>8}{'lost, s':>8}{'waited':>8}"
    )
    TOLD.figures["families"] = table(found)
    liars = [f for f in found if not f.honest]
    honest = [f for f in found if f.honest]
    lied_to = sum(f.outside for f in liars if f.evidence)
    TOLD.tell("outside_s_with_evidence", lied_to, want=0)
    TOLD.tell("outside_s_without", sum(f.outside for f in liars if not f.evidence))
    TOLD.tell("outside_s_honest", sum(f.outside for f in honest), want=0)
    TOLD.tell("honest_jobs", len(honest))
    alarmed = sum(f.alarmed > 0 for f in honest) / len(honest)
    TOLD.tell("false_alarm_share", alarmed, most=FALSE_ALARMS)
    TOLD.tell("lost_s", sum(f.lost for f in honest))
    TOLD.tell("honest_go_s", sum(f.go for f in honest))
    return TOLD.end()


if __name__ == "__main__":
    sys.exit(main())
