"""The figures of the whole service: volumes, due dates, calendar, selector exercise.

Run it from the repository's root: python tests/show/service.py. SEED=N for other
random cases, QUICK=1 for a short run; WAY="close at" SERVICES=30 for that way of
setting a level alone. The last line is JSON; exit 1 if a figure misses.
"""

from __future__ import annotations

import math
import os
import statistics
import sys
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(_ROOT))

from tests.show.parts.service import budgets as service_budgets  # noqa: E402
from tests.show.parts.service import dates as service_dates  # noqa: E402
from tests.show.parts.service import exercise as service_exercise  # noqa: E402
from tests.show.parts.service import jugs as service_jugs  # noqa: E402
from tests.show.parts.service import leg_ways  # noqa: E402
from tests.show.parts.service import outside as service_outside  # noqa: E402
from tests.show.parts.service import sheets as service_sheets  # noqa: E402
from tests.show.parts.service import walked as service_walked  # noqa: E402
from tests.show.parts.service import ways as service_ways  # noqa: E402
from tests.show.parts.show_run import ShowRun  # noqa: E402

WAYS = service_ways.WAYS | leg_ways.WAYS
_ONE_WAY = os.environ.get("WAY", "")
LISTED = 60
HELD = 0.95
"""What two standard deviations promise (JCGM 100, 6.2.1)."""
WRONG = 0.05
"""A verdict is claimed with the same."""
PROVEN = 0.8
"""Of the services in which nothing went wrong: a jug cannot prove each of them."""
CONSERVED_ML = 1e-6
LINE_OCTETS = 75


def show_outside(told: ShowRun) -> None:
    """Published figures beside ours."""
    print("Against published figures")
    print(f"   {'':45}{'published':>15}{'ours':>15}{'apart':>10}  source")
    found = service_outside.checks()
    for c in found:
        print(
            f"   {c.name:45}{c.published:15.9g}{c.ours:15.9g}{c.difference:10.1e}"
            f"  {c.source}{'' if c.holds else '  MISS'}"
        )
    told.misses += [f"{c.name}: off by {c.difference:g}" for c in found if not c.holds]
    shown = ("name", "source", "published", "ours", "difference", "allowed")
    told.figures["outside_checks"] = len(found)
    told.figures["outside"] = [{k: getattr(c, k) for k in shown} for c in found]


def show_conserved(told: ShowRun) -> None:
    """Balances under a change of the reference temperature, and by 54D's formula."""
    print("\nRandom balances, worst apart: at another reference temperature, and from")
    print("54D's formula amount by amount")
    count = told.size(2000, 10_000)
    moved_ml, own_ml = service_jugs.conserved(told.seed, count)
    told.tell("balances", count)
    told.tell("moved_ml", moved_ml, most=CONSERVED_ML)
    told.tell("own_ml", own_ml, most=CONSERVED_ML)


def show_jugs(told: ShowRun) -> None:
    """Whether the stated uncertainty holds for simulated jugs and persons."""
    print("\nServices measured with simulated jugs in each world")
    print("(held: the truth lies within the stated uncertainty, k = 2)")
    count = told.size(2000, 20_000)
    told.tell("jug_services", count)
    for world in service_jugs.WORLDS:
        tally = service_jugs.simulate(told.seed, count, world)
        wrong = tally.wrong / tally.verdicts if tally.verdicts else math.nan
        errors = sorted(abs(e) for e in tally.errors_ml)
        within_ml = errors[math.ceil(0.95 * len(errors)) - 1]
        name = world.name.replace(" ", "_").replace(",", "")
        told.tell(f"{name}_net_held", tally.net_held / tally.cases, least=HELD)
        told.tell(f"{name}_kept_held", tally.kept_held / tally.cases, least=HELD)
        told.tell(f"{name}_stated_ml", statistics.fmean(tally.widths_ml))
        told.tell(f"{name}_within_ml", within_ml)
        told.tell(f"{name}_verdicts", tally.verdicts / tally.cases)
        told.tell(f"{name}_wrong", wrong, most=WRONG)


def show_budgets(told: ShowRun) -> None:
    """Stated doubts (k = 2) against draws of what may truly be (JCGM 101)."""
    print("\nStated doubt (k = 2) against a Monte Carlo (JCGM 101): share of the draws")
    print("it covers, and how wide it is beside what truly holds 95 %")
    draws = told.size(4000, 200_000)
    told.tell("budget_draws", draws)
    for case in service_budgets.cases():
        found = service_budgets.run(case, told.seed, draws)
        key = f"budget_{case.name.replace(',', '').replace(' ', '_')}"
        told.tell(f"{key}_held", found.held, least=HELD)
        told.tell(f"{key}_wide", found.wide, most=service_budgets.WIDEST)


def show_dates(told: ShowRun) -> None:
    """Due dates, and calendar files."""
    print("\nNext due by exact fractions and python-dateutil, some moved to a shorter")
    print("month's last day; hostile reminders read by icalendar (RFC 5545)")
    dates, files = told.size((3000, 500), (30_000, 5000))
    wrong, shortened = service_dates.due_dates(told.seed, dates)
    told.tell("due_dates", dates)
    told.tell("due_dates_wrong", wrong, want=0)
    told.tell("due_dates_shortened", shortened, least=1)
    bad, longest = service_dates.calendar_files(told.seed, files)
    told.tell("calendar_files", files)
    told.tell("calendar_files_wrong", bad, want=0)
    told.tell("calendar_longest_line", longest, most=LINE_OCTETS)


def show_exercise(told: ShowRun) -> None:
    """The selector exercise's states, and random exercises judged from their log."""
    print("\nThe selector exercise")
    paces = {"read": service_exercise.READ, "clock": service_exercise.BLIND}
    for name, pace in paces.items():
        found = service_exercise.explore(pace)
        ends = service_exercise.dead_ends(found)
        told.tell(f"exercise_{name}_states", len(found.states))
        told.tell(f"exercise_{name}_transitions", found.transitions)
        told.tell(f"exercise_{name}_wrong", len(found.faults), want=0)
        told.tell(f"exercise_{name}_dead_ends", len(ends), want=0)
        told.misses += [f"exercise: {fault}" for fault in found.faults[:5]]
        told.misses += [f"exercise dead end: {end}" for end in ends[:5]]
    count = told.size(500, 5000)
    differing, finished, holds = service_exercise.differences(told.seed, count)
    told.tell("exercises", count)
    told.tell("exercises_differing", differing, want=0)
    told.tell("exercises_finished", finished, least=1)
    told.tell("exercises_holds", holds)


def show_sheets(told: ShowRun) -> None:
    """Mistakes in sheets, listed and random; the schema; the shipped sheets."""
    print("\nSheets: listed mistakes, told whole (key, reason, remedy) and with line;")
    print("random changes of shipped ones, read or not, and held against the schema")
    listed = service_sheets.listed()
    told.tell("sheet_mistakes_listed", listed.total, least=LISTED)
    told.tell("sheet_mistakes_whole", listed.sentences)
    told.tell("sheet_mistakes_with_line", listed.with_line)
    told.misses += [f"poor sentence: {said}" for said in listed.poor[:5]]
    wild = service_sheets.wild(told.seed, told.size(200, 3000))
    told.tell("sheets_random", wild.total)
    told.tell("sheets_random_read", wild.taken, least=1)
    told.tell("sheets_random_mistakes", wild.mistakes)
    told.tell("sheets_random_tracebacks", len(wild.escaped), want=0)
    told.misses += [f"escaped: {what}" for what in wild.escaped[:5]]
    told.tell("sheets_schema_stricter", wild.schema_stricter, want=0)
    doubts = service_sheets.shipped()
    no_sensor = "no signal gives the fluid temperature"  # a fact of that car
    flaws = [d for found in doubts.values() for d in found if no_sensor not in d]
    told.tell("sheets_shipped", len(doubts))
    told.tell("sheets_shipped_flaws", len(flaws), want=0)
    told.misses += [f"shipped: {doubt}" for doubt in flaws]


def show_ways(told: ShowRun) -> None:
    """Each way a level is set, by typed lines on a simulated car, against its truth."""
    count = int(os.environ.get("SERVICES", told.size(12, 200)))
    print(f"\nWays of setting a level, {count} services each, with slips: gone wrong,")
    print("of those complete; right, of those complete; share held, net held")
    told.tell("way_services", count)
    for name, way in WAYS.items() if not _ONE_WAY else [(_ONE_WAY, WAYS[_ONE_WAY])]:
        found = service_ways.tally(name, way, told.seed, count)
        key = f"way_{name.replace(' ', '_')}"
        told.tell(f"{key}_bad", found.bad, least=1)
        told.tell(f"{key}_wrongly_complete", len(found.wrongly_complete), want=0)
        told.tell(f"{key}_right", found.right)
        proven = max(1.0, PROVEN * found.right)  # an honest doubt leaves some open
        told.tell(f"{key}_right_complete", found.right_complete, least=proven)
        told.misses += [f"{name} complete though {w}" for w in found.wrongly_complete]
        told.misses += [f"{name} says: {words}" for words in sorted(found.plug_words)]
        told.misses += [f"{name} refused {line}" for line in sorted(found.refused)]
        for what, held in (("share", found.shares), ("net", found.nets)):
            if held:
                told.tell(f"{key}_{what}_of", len(held))
                least = HELD * len(held)
                told.tell(f"{key}_{what}_held", sum(held), least=least)


def show_walk(told: ShowRun) -> None:
    """The whole job by keyboard, killed in the middle; not in a short run."""
    print("The whole service on the demo car, by keyboard, killed and taken up again")
    found = None if told.quick else service_walked.walk()
    if found is None:
        print("   not run: " + told.size("QUICK", "no tmux here"))
        return
    wanted = {
        "walk_exit": 0,
        "walk_unseen": [],
        "walk_steps_done": found.get("walk_steps"),
        "walk_went_on_after_kill": True,
        "walk_closed_complete": True,
        "walk_nothing_missing": True,
        "walk_record_intact": True,
    }
    for key, value in found.items():
        told.tell(key, value, want=wanted.get(key))
    if not found.get("walk_replayed_events"):
        told.misses.append("the walk's job does not replay to the same decisions")


def main() -> int:
    """Show everything, or one way alone; 1 if a figure misses."""
    told = ShowRun("service")
    if _ONE_WAY and _ONE_WAY not in WAYS:
        print(f"WAY={_ONE_WAY} is none of the ways; give one of {', '.join(WAYS)}.")
        return 2
    if _ONE_WAY:
        show_ways(told)
        return told.end()
    for show in (
        show_outside,
        show_conserved,
        show_jugs,
        show_budgets,
        show_dates,
        show_exercise,
        show_sheets,
        show_ways,
        show_walk,
    ):
        show(told)
    return told.end()


if __name__ == "__main__":
    sys.exit(main())
