"""The figures of the whole service: volumes, due dates, calendar, selector exercise.

Run it from the repository's root: python tests/show/service.py. SEED=N for other
random cases, QUICK=1 for a short run. The last line is JSON; exit 1 if a figure
misses.
"""

from __future__ import annotations

import json
import math
import os
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

_ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(_ROOT))

from tests.show.parts.service import dates as service_dates  # noqa: E402
from tests.show.parts.service import exercise as service_exercise  # noqa: E402
from tests.show.parts.service import jugs as service_jugs  # noqa: E402
from tests.show.parts.service import leg_ways  # noqa: E402
from tests.show.parts.service import outside as service_outside  # noqa: E402
from tests.show.parts.service import sheets as service_sheets  # noqa: E402
from tests.show.parts.service import walked as service_walked  # noqa: E402
from tests.show.parts.service import ways as service_ways  # noqa: E402

SEED = int(os.environ.get("SEED", "1"))
QUICK = os.environ.get("QUICK", "") not in ("", "0")
BALANCES, JUGS, DATES, FILES, EXERCISES = (
    (2000, 2000, 3000, 500, 500) if QUICK else (10_000, 20_000, 30_000, 5000, 5000)
)
SHEETS = 200 if QUICK else 3000
WAYS = 12 if QUICK else 200
LISTED = 60
HELD = 0.95
"""What two standard deviations promise (JCGM 100, 6.2.1)."""
WRONG = 0.05
"""A verdict is claimed with the same."""
CONSERVED_ML = 1e-6
LINE_OCTETS = 75

Figures = dict[str, Any]
Misses = list[str]
Shown = tuple[Figures, Misses]


def show_outside() -> Shown:
    """Published figures beside ours."""
    print("Against published figures")
    print(f"   {'':45}{'published':>15}{'ours':>15}{'apart':>10}  source")
    found = service_outside.checks()
    for c in found:
        mark = "" if c.holds else "  MISS"
        print(
            f"   {c.name:45}{c.published:15.9g}{c.ours:15.9g}{c.difference:10.1e}"
            f"  {c.source}{mark}"
        )
    figures: Figures = {
        "outside_checks": len(found),
        "outside": [
            {
                "name": c.name,
                "source": c.source,
                "published": c.published,
                "ours": c.ours,
                "difference": c.difference,
                "allowed": c.allowed,
            }
            for c in found
        ],
    }
    misses = [f"{c.name}: off by {c.difference:g}" for c in found if not c.holds]
    return figures, misses


def show_conserved() -> Shown:
    """Balances under a change of the reference temperature."""
    moved, own = service_jugs.conserved(SEED, BALANCES)
    print(f"\n{BALANCES:,} random balances, worst apart, mL")
    print(f"   at another reference temperature {moved:.1e}")
    print(f"   from 54D's formula, amount by amount {own:.1e}")
    worst = {"other reference": moved, "54D's formula": own}
    misses = [
        f"balance against {name}: {ml:g} mL"
        for name, ml in worst.items()
        if not ml <= CONSERVED_ML
    ]
    return {"balances": BALANCES, "moved_ml": moved, "own_ml": own}, misses


def show_jugs() -> Shown:
    """Whether the stated uncertainty holds for simulated jugs and persons."""
    print(f"\n{JUGS:,} services measured with simulated jugs in each world")
    print("   (held: the truth lies within the stated uncertainty, k = 2)")
    print(
        f"   {'':26}{'net held':>10}{'kept held':>11}{'stated +-mL':>13}"
        f"{'95 % within':>13}{'verdicts':>10}{'wrong':>8}"
    )
    figures: Figures = {"jug_services": JUGS}
    misses: Misses = []
    for world in service_jugs.WORLDS:
        tally = service_jugs.simulate(SEED, JUGS, world)
        net, kept = tally.net_held / tally.cases, tally.kept_held / tally.cases
        told = tally.verdicts / tally.cases
        wrong = tally.wrong / tally.verdicts if tally.verdicts else math.nan
        width = statistics.fmean(tally.widths_ml)
        errors = sorted(abs(e) for e in tally.errors_ml)
        within = errors[math.ceil(0.95 * len(errors)) - 1]
        print(
            f"   {world.name:26}{net:10.3f}{kept:11.3f}{width:13.0f}{within:13.0f}"
            f"{told:10.3f}{wrong:8.4f}"
        )
        name = world.name.replace(" ", "_").replace(",", "")
        figures |= {
            f"{name}_net_held": net,
            f"{name}_kept_held": kept,
            f"{name}_stated_ml": width,
            f"{name}_within_ml": within,
            f"{name}_verdicts": told,
            f"{name}_wrong": wrong,
        }
        misses += [
            f"{world.name}: {what} held {value:.3f} < {HELD}"
            for what, value in (("net", net), ("kept", kept))
            if not value >= HELD
        ]
        if not wrong <= WRONG:
            misses.append(f"{world.name}: verdicts wrong {wrong:.4f} > {WRONG}")
    return figures, misses


def show_dates() -> Shown:
    """Due dates, and calendar files."""
    wrong, shortened = service_dates.due_dates(SEED, DATES)
    bad, longest = service_dates.calendar_files(SEED, FILES)
    print("\nNext due and the calendar file")
    print(
        f"   {DATES:,} due dates by exact fractions and python-dateutil: {wrong} wrong"
    )
    print(f"      of them moved to a shorter month's last day: {shortened:,}")
    print(f"   {FILES:,} hostile reminders read by icalendar (RFC 5545): {bad} wrong")
    print(f"      longest line, octets: {longest}")
    misses = [
        f"{name}: {count}"
        for name, count in (("due dates wrong", wrong), ("files wrong", bad))
        if count
    ]
    if longest > LINE_OCTETS:
        misses.append(f"a calendar line of {longest} octets")
    if not shortened:
        misses.append("no due date met a shorter month: nothing was shown")
    figures: Figures = {
        "due_dates": DATES,
        "due_dates_wrong": wrong,
        "due_dates_shortened": shortened,
        "calendar_files": FILES,
        "calendar_files_wrong": bad,
        "calendar_longest_line": longest,
    }
    return figures, misses


def show_exercise() -> Shown:
    """The selector exercise's states, and random exercises."""
    print("\nThe selector exercise")
    figures: Figures = {}
    misses: Misses = []
    paces = {"read": service_exercise.READ, "clock": service_exercise.BLIND}
    for name, pace in paces.items():
        found = service_exercise.explore(pace)
        ends = service_exercise.dead_ends(found)
        print(
            f"   by the {name:6} states {len(found.states):6,}  transitions "
            f"{found.transitions:8,}  wrong {len(found.faults)}  dead ends {len(ends)}"
        )
        figures |= {
            f"exercise_{name}_states": len(found.states),
            f"exercise_{name}_transitions": found.transitions,
            f"exercise_{name}_wrong": len(found.faults),
            f"exercise_{name}_dead_ends": len(ends),
        }
        misses += [f"exercise: {fault}" for fault in found.faults[:5]]
        misses += [f"exercise dead end: {end}" for end in ends[:5]]
    differing, finished, holds = service_exercise.differences(SEED, EXERCISES)
    print(
        f"   {EXERCISES:,} random exercises judged anew from their log: {differing} "
        f"differ ({finished:,} finished, {holds:,} holds)"
    )
    figures |= {
        "exercises": EXERCISES,
        "exercises_differing": differing,
        "exercises_finished": finished,
    }
    if differing:
        misses.append(f"{differing} random exercises differ")
    if not finished:
        misses.append("no random exercise was finished: nothing was shown")
    return figures, misses


def show_sheets() -> Shown:
    """Mistakes in sheets, listed and random; the schema; the shipped sheets."""
    told = service_sheets.listed()
    wild = service_sheets.wild(SEED, SHEETS)
    doubts = service_sheets.shipped()
    no_sensor = "no signal gives the fluid temperature"  # a fact of that car
    flaws = [d for found in doubts.values() for d in found if no_sensor not in d]
    print("\nSheets")
    print(
        f"   {told.total} listed mistakes: {told.sentences} told with key, reason and "
        f"remedy, {told.with_line} with their line"
    )
    print(
        f"   {wild.total:,} random changes of shipped sheets: {wild.taken:,} still a "
        f"sheet, {wild.mistakes:,} mistakes told, {len(wild.escaped)} tracebacks"
    )
    print(
        f"   sheets that the reader takes and the schema (jsonschema) refuses: "
        f"{wild.schema_stricter}"
    )
    print(
        f"   {len(doubts)} shipped sheets, doubts that are flaws of ours: {len(flaws)}"
    )
    misses = [f"poor sentence: {said}" for said in told.poor[:5]]
    misses += [f"escaped: {what}" for what in wild.escaped[:5]]
    misses += [f"shipped: {doubt}" for doubt in flaws]
    if told.total < LISTED:
        misses.append(f"only {told.total} listed mistakes")
    if wild.schema_stricter:
        misses.append(f"the schema refuses {wild.schema_stricter} sheets that are read")
    if not wild.taken:
        misses.append("no changed sheet was read: nothing was shown of the schema")
    figures: Figures = {
        "sheet_mistakes_listed": told.total,
        "sheet_mistakes_whole": told.sentences,
        "sheet_mistakes_with_line": told.with_line,
        "sheets_random": wild.total,
        "sheets_random_read": wild.taken,
        "sheets_random_tracebacks": len(wild.escaped),
        "sheets_schema_stricter": wild.schema_stricter,
        "sheets_shipped": len(doubts),
        "sheets_shipped_flaws": len(flaws),
    }
    return figures, misses


def show_walk() -> Shown:
    """The whole job by keyboard, killed in the middle; not in a short run."""
    print("The whole service on the demo car, by keyboard, killed and taken up again")
    found = None if QUICK else service_walked.walk()
    if found is None:
        print("   not run: " + ("QUICK" if QUICK else "no tmux here"))
        return {}, []
    for key, value in found.items():
        print(f"   {key.replace('_', ' '):32}{value}")
    wanted = {
        "walk_exit": 0,
        "walk_unseen": [],
        "walk_steps_done": found["walk_steps"],
        "walk_went_on_after_kill": True,
        "walk_closed_complete": True,
        "walk_nothing_missing": True,
        "walk_record_intact": True,
    }
    misses = [f"{key} is {found[key]}" for key in wanted if found[key] != wanted[key]]
    if not found["walk_replayed_events"]:
        misses.append("the walk's job does not replay to the same decisions")
    return found, misses


def show_ways() -> Shown:
    """Each way a level is set, by typed lines on a simulated car, against its truth."""
    print(f"\nWays of setting a level, {WAYS} services each, with slips")
    print(
        f"   {'':18}{'gone wrong':>11}{'of those complete':>19}{'right':>7}"
        f"{'of those complete':>19}{'share held':>12}{'net held':>10}"
    )
    figures: Figures = {"way_services": WAYS}
    misses: Misses = []
    for name, way in (service_ways.WAYS | leg_ways.WAYS).items():
        found = service_ways.tally(name, way, SEED, WAYS)
        wrong = len(found.wrongly_complete)
        shares, nets = _held(found.shares), _held(found.nets)
        print(
            f"   {name:18}{found.bad:11}{wrong:19}{found.right:7}"
            f"{found.right_complete:19}{shares:>12}{nets:>10}"
        )
        key = name.replace(" ", "_")
        figures |= {
            f"way_{key}_bad": found.bad,
            f"way_{key}_wrongly_complete": wrong,
            f"way_{key}_right": found.right,
            f"way_{key}_right_complete": found.right_complete,
            f"way_{key}_share_held": shares,
            f"way_{key}_net_held": nets,
        }
        misses += [f"{name} complete though {why}" for why in found.wrongly_complete]
        misses += [f"{name} says: {words}" for words in sorted(found.plug_words)]
        misses += [f"{name} refused {line}" for line in sorted(found.refused)]
        misses += [
            f"{name}: {what} held in {sum(held)} of {len(held)}"
            for what, held in (("share", found.shares), ("net", found.nets))
            if held and sum(held) < HELD * len(held)
        ]
        if not found.bad or not found.right_complete:
            misses.append(f"{name}: nothing went wrong, or nothing right: not shown")
    return figures, misses


def _held(found: list[bool]) -> str:
    return f"{sum(found)}/{len(found)}" if found else "-"


SECTIONS: tuple[Callable[[], Shown], ...] = (
    show_outside,
    show_conserved,
    show_jugs,
    show_dates,
    show_exercise,
    show_sheets,
    show_ways,
    show_walk,
)


def main() -> int:
    """Show everything; 1 if a figure misses."""
    start = time.monotonic()
    figures: Figures = {"show": "service", "seed": SEED, "quick": int(QUICK)}
    misses: Misses = []
    for section in SECTIONS:
        found, missed = section()
        figures |= found
        misses += missed
    for miss in misses:
        print("MISS", miss)
    figures |= {"seconds": round(time.monotonic() - start, 1), "misses": len(misses)}
    print(json.dumps(figures))
    return 1 if misses else 0


if __name__ == "__main__":
    sys.exit(main())
