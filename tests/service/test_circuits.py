"""Two circuits in one housing: two balances, two levels, and no way to mix them."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import fields, replace
from pathlib import Path

import pytest

from bridge.level.step.marks import mark
from bridge.level.step.plan import plan_of
from bridge.level.step.step_values import Outcome, Phase
from bridge.level.viscosity import USUAL, Fluid
from bridge.service import sums
from bridge.service.against import against, is_complete
from bridge.service.level_facts import facts_of
from bridge.service.log import circuits_of
from bridge.service.missing import lacks_of
from bridge.service.papers.against_sheet import forbidden_by
from bridge.service.rounds import runs_dry
from bridge.sheets import load, parse_sheet
from bridge.sheets.keys.all_keys import SECTIONS
from bridge.sheets.reading.assemble import examine
from bridge.sheets.warnings.all_warnings import doubts_of
from bridge.values.events import Mark
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import Circuit, Service
from bridge.values.sheet import Sheet
from tests.show.parts.service import leg_ways
from tui.inputs.answers import Refused
from tui.inputs.line_reader import LineReader

GILL = Path(__file__).parents[1] / "data" / "sheets" / "ways" / "gill-two-circuits.toml"
SHEET = load(str(GILL))


def told(*lines: str, sheet: Sheet = SHEET) -> tuple[ServiceEvent, ...]:
    reader = LineReader(sheet)
    found = []
    for line in lines:
        event = reader.read(line)
        if isinstance(event, Refused) and event.again:
            event = reader.read(line)
        assert isinstance(event, ServiceEvent), event
        found.append(event)
    return tuple(found)


BOTH = (
    "out final drive plug 0.9 L at 20 C",
    "out pan 4.2 L at 20 C",
    "in final drive 0.9 L at 20 C",
    "in gear side 4.2 L at 20 C",
)


@pytest.mark.parametrize(
    "line",
    [
        "in 4.2 L at 20 C",
        "ran-off 100 mL",
        "new-fluid 12 C",
        "in pan 4.2 L",
        "in drive 1 L",
    ],
)
def test_no_amount_goes_in_without_its_circuit(line: str) -> None:
    refused = LineReader(SHEET).read(line)
    assert isinstance(refused, Refused)
    assert "final drive" in refused.words
    assert "gear side" in refused.words


def test_each_circuit_has_its_own_balance_and_there_is_none_of_both() -> None:
    log = told(*BOTH)
    for one in circuits_of(SHEET, log):
        found = sums.balance_of(one.sheet, one.log)
        assert not isinstance(found, str)
        assert abs(found.net.ml) <= found.net.expanded_ml
        assert found.out.ml < 4300.0
    ids = {a.id for a in against(SHEET, log)}
    assert not any(i.startswith(("balance", "drained", "amounts")) for i in ids)


def test_what_is_poured_into_the_wrong_circuit_stands_against_both() -> None:
    log = told(*BOTH[:2], "in final drive 4.2 L", "in gear side 0.9 L")
    ids = {a.id for a in against(SHEET, log)}
    assert {"balance-high:final drive", "balance-over-total:final drive"} <= ids
    assert "balance-low:gear side" in ids


def test_what_one_circuit_lacks_the_other_does_not_make_up_for() -> None:
    log = told(BOTH[1], BOTH[3])
    ids = {lack.id for lack in lacks_of(SHEET.service, log)}
    assert "out:final drive" in ids
    assert not {i for i in ids if i.endswith(":gear side")}
    log = told(BOTH[0], BOTH[1], BOTH[3])
    assert "in:final drive" in {lack.id for lack in lacks_of(SHEET.service, log)}
    found = {a.id for a in against(SHEET, log)}
    assert "drained:final drive" in found
    parts = circuits_of(SHEET, log)
    dry = {c.name: runs_dry(c.log, c.sheet.service, 800.0) for c in parts}
    assert dry == {"final drive": True, "gear side": False}


def test_an_amount_out_of_proportion_to_its_circuit_is_asked_back() -> None:
    asked = LineReader(SHEET).read("in final drive 4.2 L at 20 C")
    assert isinstance(asked, Refused)
    assert asked.again
    assert isinstance(
        LineReader(SHEET).read("in gear side 4.2 L at 20 C"), ServiceEvent
    )


def test_what_the_level_step_adds_belongs_to_the_circuit_whose_level_it_sets() -> None:
    job = leg_ways.begin("gill-two-circuits", __import__("random").Random(1))
    leg_ways.confirm(job)
    job.say("added 0.1 L")
    leg_ways.drips(job, [])
    job.say("next")
    assert job.seen.step is not None
    assert job.seen.step.leg == 1
    job.say("added 0.3 L")
    facts = facts_of(job.session.step, 0, SHEET.legs)
    assert dict(facts.added_in) == pytest.approx({"final drive": 100, "gear side": 300})
    added = [e for e in job.session.log if e.kind is ServiceKind.ADDED]
    assert {e.name: e.ml for e in added} == pytest.approx(dict(facts.added_in))


def test_one_good_level_is_not_the_level_of_the_service() -> None:
    job = leg_ways.begin("gill-two-circuits", __import__("random").Random(1))
    leg_ways.confirm(job)
    leg_ways.drips(job, [])
    assert job.seen.step is not None
    assert job.seen.step.judgement is not None
    assert job.seen.step.judgement.outcome is Outcome.GOOD
    assert job.seen.step.phase is Phase.JUDGED
    assert "level" in {lack.id for lack in lacks_of(SHEET.service, job.session.log)}
    assert not is_complete(SHEET, job.session.log)
    assert mark(job.session.step, job.session.plan, Mark.NEXT, 1e6).leg == 1


def test_a_fluid_that_no_circuit_asks_for_is_named() -> None:
    lines = ("fluid Some oil, of no works at all, batch 1, 4 L",)
    ids = {a.id for a in against(SHEET, told(*lines))}
    assert "fluid-not-named:Some oil" in ids
    good = ("fluid Oil, gear oil to the Gill works' leaf 7 invented, batch 1, 0.9 L",)
    assert "fluid-not-named:Oil" not in {a.id for a in against(SHEET, told(*good))}


OWN = """\
viscosity_40 = "90 mm2/s"
viscosity_100 = "11 mm2/s"
area = "150 cm2"
bore = "10 mm"
opening_forward = "40 mm"
filter_holds = "0.2 L"
rounds = 2
forbidden = ["spindle oil"]
"""


def with_own(circuit: str = "final drive") -> Sheet:
    """Return the sheet with more told of one circuit."""
    name = f'name = "{circuit}"\nfluid'
    text = GILL.read_text().replace(name, f'name = "{circuit}"\n{OWN}fluid', 1)
    assert OWN in text
    return parse_sheet(text, "a.toml")


def test_a_circuit_may_tell_of_its_fluid_and_sump_what_a_sheet_may() -> None:
    known = {f.name for f in (*fields(Sheet), *fields(Service))}
    assert {f.name for f in fields(Circuit)} <= known
    theirs = {*SECTIONS["fluid"], *SECTIONS["sump"]} - {"name"}
    assert theirs <= set(SECTIONS["circuit"])


def test_its_level_is_set_with_its_own_fluid_and_opening() -> None:
    drive, gear = (plan_of(with_own().at(leg)) for leg in (0, 1))
    assert drive.fluid == Fluid(at_40_mm2_s=90.0, at_100_mm2_s=11.0)
    assert (drive.area_cm2, drive.fill_ml, drive.opening_forward_mm) == (150, 1100, 40)
    assert gear.fluid == USUAL
    assert (gear.area_cm2, gear.fill_ml, gear.opening_forward_mm) == (None, 8000, 0)


def test_its_rounds_and_its_filter_are_its_own() -> None:
    sheet = with_own("gear side")
    drive, gear = circuits_of(sheet, ())
    assert [c.sheet.service.rounds for c in (drive, gear)] == [1, 2]
    assert [c.sheet.service.filter_holds_ml for c in (drive, gear)] == [None, 200.0]
    log = told(*BOTH, sheet=sheet)
    ids = {lack.id for lack in lacks_of(sheet.service, log)}
    assert "rounds:gear side" in ids
    assert "rounds:final drive" not in ids


def test_what_it_forbids_is_named_unless_it_is_the_other_ones_fluid() -> None:
    sheet = with_own()
    log = told("fluid Spindle oil, thin, batch 1, 1 L", sheet=sheet)
    used = next(e for e in log if e.kind is ServiceKind.FLUID_USED)
    assert forbidden_by(sheet.service, used) == "spindle oil"
    theirs = replace(used, text="automatic fluid to the Gill works' leaf 3, invented")
    assert forbidden_by(sheet.service, theirs) == ""


def test_its_doubts_name_its_own_keys() -> None:
    text = GILL.read_text().replace('service_fill = "4.2 L"', 'service_fill = "9 L"')
    found = doubts_of(parse_sheet(text, "a.toml"))
    assert not [d for d in found if d.section in ("fluid", "sump", "filter")]
    about = [(d.key, d.index) for d in found if d.section == "circuit"]
    assert ("service_fill", 1) in about


MISTAKES = {
    "is of the only circuit": (
        GILL.read_text().split("\n\n")[3] + "\n\n",
        "",
    ),
    '"viscosity_100" in [[circuit]] 1 is missing': (
        'density = "880 kg/m3"',
        'viscosity_40 = "90 mm2/s"',
    ),
    "is no smaller than service_fill": (
        'service_fill_tolerance = "0.2 L"',
        'service_fill_tolerance = "1.2 L"',
    ),
    "names no circuit of this sheet": ('circuit = "gear side"\nfastener', "fastener"),
    "names no circuit of this sheet; write one of": (
        'circuit = "gear side"\n\n[[signal]]',
        'circuit = "gearbox"\n\n[[signal]]',
    ),
    "a name of its own and a": (
        'circuit = "gear side"\n\n[[signal]]',
        'circuit = "final drive"\n\n[[signal]]',
    ),
    "stands beside [[circuit]]": ("[[circuit]]", '[sump]\nfill = "8 L"\n\n[[circuit]]'),
    '"fluid" in [[circuit]] 1 is missing': (
        'fluid = "gear oil to the Gill works\' leaf 7, invented"\n',
        "",
    ),
}


@pytest.mark.parametrize("said", MISTAKES)
def test_circuits_that_could_mix_are_refused(said: str) -> None:
    right, wrong = MISTAKES[said]
    text = GILL.read_text()
    assert right in text
    sheet, mistakes = examine(text.replace(right, wrong, 1), "a.toml")
    assert sheet is None
    assert said in " ".join(map(str, mistakes)), mistakes


def test_record_and_report_keep_them_apart(tmp_path: Path) -> None:
    job = tmp_path / "a.job"
    run = [sys.executable, "-m", "tui"]
    args = ["service", "--profile", str(GILL), "--json", "--record", str(job)]
    home = {"HOME": str(tmp_path), "PATH": "/usr/bin:/bin"}
    lines = "\n".join((*BOTH[:3], "in gear side 4.6 L at 20 C")) + "\n"
    done = subprocess.run(
        [*run, *args], input=lines, capture_output=True, text=True, env=home, check=True
    )
    row = json.loads(done.stdout.splitlines()[-1])["service"]
    assert row["net_ml"] is None
    nets = {name: one["net_ml"] for name, one in row["circuits"].items()}
    assert nets == pytest.approx({"final drive": 0.0, "gear side": 400.0}, abs=25.0)
    page = tmp_path / "a.html"
    subprocess.run([*run, "report", str(job), "--out", str(page)], env=home, check=True)
    said = page.read_text("utf-8")
    assert "Circuit: final drive" in said
    assert "Circuit: gear side" in said
