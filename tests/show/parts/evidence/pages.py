"""Random services to reports: does page one say what the service's state says?

The page is read back by an HTML reader and a PDF reader that are none of ours; the
state is reckoned by the service's own rules from the events, not by the report.
"""

from __future__ import annotations

import io
import random
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from pypdf import PdfReader

from bridge.jobfile.file.check import FileState, Finding
from bridge.jobfile.report.compose import ANONYMOUS, compose
from bridge.jobfile.report.level_section import OUTCOMES
from bridge.jobfile.report.pdf_paper import spelled
from bridge.jobfile.report.report_html import as_html
from bridge.jobfile.report.report_pdf import as_pdf
from bridge.jobfile.report.summary import Moment, Summary
from bridge.service import sums
from bridge.service.amounts import Amount
from bridge.service.log import Log, applying
from bridge.service.missing import missing
from bridge.service.papers.paper_words import PAPER_TEXT
from bridge.sheets import load
from bridge.units import Units, show_distance, show_torque, show_volume
from bridge.values.codec import to_plain
from bridge.values.service_events import Particular, ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind, Tick
from bridge.values.sheet import Sheet
from tests.show.parts.show_run import ShowRun

SHEETS = ("scar-eight-speed", "tarn-step-automatic", "ling-four-speed")
HEAD = "ab" * 32
BEGAN_UTC_S = 1_767_265_200.0


def random_log(sheet: Sheet, chance: random.Random) -> Log:
    """Return what a person may have told of a service on a sheet, in any order."""
    names = [f.name for f in sheet.service.fasteners]
    events = [
        ServiceEvent(
            kind=chance.choice((ServiceKind.OUT, ServiceKind.IN, ServiceKind.RAN_OFF)),
            ml=round(chance.uniform(5.0, 6_000.0)),
            temp_c=chance.choice((None, round(chance.uniform(-10.0, 90.0), 1))),
            name=chance.choice(("sump", "cooler", "")),
        )
        for _ in range(chance.randrange(6))
    ]
    events += [
        ServiceEvent(
            kind=ServiceKind.TICKED, name=name, tick=tick, who=chance.choice(("", "R"))
        )
        for name in names
        for tick in Tick
        if chance.random() < chance.choice((0.1, 0.9))
    ]
    events += [
        ServiceEvent(
            kind=ServiceKind.TORQUE, name=name, torque_nm=round(chance.uniform(1, 90))
        )
        for name in names
        if chance.random() < 0.3
    ]
    events += [
        ServiceEvent(
            kind=ServiceKind.ODOMETER, km=round(chance.uniform(1, 4e5)), step=s
        )
        for s in (StepKind.BEFORE, StepKind.AFTER)
        if chance.random() < 0.5
    ]
    if chance.random() < 0.5:
        due = ServiceEvent(kind=ServiceKind.DUE, name="2028-02-29", km=180_000.0)
        events.append(due)
    events += random_papers(chance)
    chance.shuffle(events)
    if chance.random() < 0.3 and events:
        back = chance.randrange(len(events))
        events.append(ServiceEvent(kind=ServiceKind.TAKEN_BACK, back=back))
    return tuple(events)


def _words(chance: random.Random) -> str:
    """Return what a person may type into a field that takes 200 characters."""
    long = chance.randrange(1, 201)
    return chance.choice(
        (
            f"w{chance.randrange(1000)}",
            f"w{chance.randrange(1000)}",
            ("W" * long),
            " ".join(f"word{i}" for i in range(long // 7 + 1)),
            "\u8eca" * long,  # the printed form spells each in six letters and more
            "<b>&amp; " * (long // 9 + 1),
        )
    ).strip()


def random_papers(chance: random.Random) -> list[ServiceEvent]:
    """Return some of what the papers can tell, up to all a person could type."""
    many = chance.choice((1, 1, 3, 30))
    made = [
        ServiceEvent(
            kind=ServiceKind.PARTICULAR,
            name=what.value,
            text=chance.choice((f"{what} {n}", _words(chance))),
        )
        for what in Particular
        for n in range(chance.randrange(3))
    ]
    good = {ServiceKind.LEAK_CHECK: "dry", ServiceKind.RECHECKED: "right"}
    made += [
        ServiceEvent(
            kind=kind,
            name=(
                good[kind] if kind is ServiceKind.RECHECKED and n else _words(chance)
            ),
            text=chance.choice((good.get(kind, ""), _words(chance))),
            number=_words(chance),
            ml=100.0,
            minutes=9.0,
        )
        for kind in PAPER_TEXT
        for n in range(chance.randrange(many + 1))
    ]
    made += [
        ServiceEvent(
            kind=ServiceKind.ANSWERED, name=_words(chance), text=_words(chance)
        )
        for _ in range(chance.randrange(many + 1))
    ]
    made += [
        ServiceEvent(kind=ServiceKind.COMPLETE) for _ in range(chance.randrange(2))
    ]
    return made


def random_rest(chance: random.Random) -> dict[str, list[Moment]]:
    """Return what a job holds besides: car, codes, how the level was judged."""
    codes = [f"P{n:04X}" for n in range(chance.choice((0, 2, 300)))]
    vin = chance.choice(("1M8GDM9AXKP042788", _words(chance)))
    told: dict[str, list[dict[str, Any]]] = {
        "vin": [{"text": vin}] * chance.randrange(2),
        "codes": [{"stored": codes, "pending": codes[:9]}] * chance.randrange(3),
        "judgement": [
            {
                "outcome": chance.choice([*OUTCOMES, _words(chance)]),
                "error": {"volume_ml": chance.uniform(-200.0, 200.0)},
            }
        ]
        * chance.randrange(2),
    }
    return {
        kind: [
            Moment(seq=900 + n, kind=kind, at_s=0.0, utc_s=BEGAN_UTC_S, content=one)
            for n, one in enumerate(some)
        ]
        for kind, some in told.items()
        if some
    }


def story_of(
    sheet: Sheet, log: Log, rest: dict[str, list[Moment]] | None = None
) -> Summary:
    """Return the summary a job file with these events would tell."""
    kept = [
        Moment(
            seq=i, kind="service", at_s=0.0, utc_s=BEGAN_UTC_S, content=to_plain(event)
        )
        for i, event in enumerate(log, 1)
    ]
    told = {
        "name": sheet.name,
        "fill_ml": sheet.fill_ml,
        "density_kg_m3": sheet.density_kg_m3,
        "service": to_plain(sheet.service),
    }
    return Summary(
        path=Path("x.job"),
        finding=Finding(state=FileState.INTACT, events=len(log), head=HEAD),
        start={"sheet": told},
        began_utc_s=BEGAN_UTC_S,
        ended_utc_s=BEGAN_UTC_S + 3_600.0,
        kept=({"service": kept} if kept else {}) | (rest or {}),
    )


class FirstPage(HTMLParser):
    """The words of a page's first section, one line a cell, item or paragraph."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = []
        self._sections = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._sections += tag == "section"
        if self._sections == 1 and tag in ("p", "li", "th", "td", "caption", "h2"):
            self.lines.append("")

    def handle_data(self, data: str) -> None:
        if self._sections == 1 and self.lines:
            self.lines[-1] += data.strip("\n")


def _both(amount: Amount) -> tuple[float, float]:
    return amount.ml, amount.expanded_ml


def expected(sheet: Sheet, log: Log, units: Units, *, anonymous: bool) -> list[str]:
    """Return what must stand on page one, by the service's own rules."""
    whole = []
    done = sums.balance_of(sheet, log)
    taken = {e.back for e in log if e.kind is ServiceKind.TAKEN_BACK}
    stand = [e for i, e in enumerate(log) if i not in taken]
    kinds = {e.kind for e in stand}
    if not isinstance(done, str) and (done.pours or done.out.ml):
        out, put_in, ran = (
            k in kinds for k in (ServiceKind.OUT, ServiceKind.IN, ServiceKind.RAN_OFF)
        )
        for what, amount, known in (
            ("Came out", done.out, out),
            ("Went in", done.put_in, put_in),
            ("Ran off at the level", done.ran_off, ran),
            ("More in it than before (below 0: less)", done.net, out and put_in),
        ):
            ml, by = (show_volume(v / 1000.0, units) for v in _both(amount))
            whole.append(f"{what}\n{ml}\n± {by}" if known else f"{what}\nno")
    due = [e for e in stand if e.kind is ServiceKind.DUE]
    if due:
        at = show_distance(180_000.0, units)
        whole.append(f"Next due: on 2028-02-29 or at {at}, whichever comes first.")
    plates = [
        e.text
        for e in stand
        if (e.kind, e.name) == (ServiceKind.PARTICULAR, Particular.PLATE.value)
    ]
    if anonymous:
        whole.append(ANONYMOUS)
    else:
        whole += plates[-1:]
    ticked = {(e.name, e.tick) for e in stand if e.kind is ServiceKind.TICKED}
    for fastener in applying(sheet.service, log).fasteners:
        torque = fastener.torque_nm is not None
        if torque and ticked and (fastener.name, Tick.TIGHTENED) not in ticked:
            figures = [
                e.torque_nm
                for e in stand
                if (e.kind, e.name) == (ServiceKind.TORQUE, fastener.name)
            ]
            told = show_torque(figures[-1], units) if figures else "(torque)"
            whole.append(f"{fastener.name} {told}")
    return whole


def pages(show: ShowRun) -> None:
    """Make reports of random services, and hold page one against the state."""
    chance, runs, misses = random.Random(show.seed), show.size(50, 1000), show.misses
    figures = printed = 0
    for i in range(runs):
        sheet = load(SHEETS[i % len(SHEETS)])
        units = chance.choice((Units.METRIC, Units.US))
        log = random_log(sheet, chance)
        summary = story_of(sheet, log, random_rest(chance))
        anonymous = chance.random() < 0.1
        document = compose(summary, units, anonymous=anonymous)
        page = FirstPage()
        page.feed(as_html(document))
        wanted = expected(sheet, log, units, anonymous=anonymous)
        told = "\n".join((document.subtitle, *page.lines))
        if anonymous and (seen := _private_in(told, log)):
            misses.append(f"page {i}: {seen!r} stands on an anonymous page one")
        figures += len(wanted)
        misses += [f"page {i}: no {w!r} on page one" for w in wanted if w not in told]
        lacking = missing(sheet.service, log) if log else ()
        if lacking and "Nothing is missing" in told:
            misses.append(f"page {i}: says nothing is missing, {len(lacking)} are")
        if i % 5 == 0:
            printed += 1
            paper = ("a4", "letter")[printed % 2]
            found = _in_print(as_pdf(document, paper), wanted)
            misses += [f"page {i}: {m}" for m in found]
    print("Reports of random services, figures on page one; printed and read back")
    show.tell("pages", runs)
    show.tell("pages_figures", figures)
    show.tell("pages_printed", printed)


def _private_in(told: str, log: Log) -> str:
    """Return a customer, plate or number that stands in a text as words; '': none."""
    private = {
        e.text
        for e in log
        if e.kind is ServiceKind.PARTICULAR and e.name in ("customer", "plate", "vin")
    }
    words = (p for p in private if any(c.isalnum() for c in p))
    found = (p for p in words if re.search(rf"(?<!\w){re.escape(p)}(?!\w)", told))
    return next(found, "")


_CUT = 18
"""So many characters of what somebody typed stand on the printed page one at least;
of amounts and dates all."""


def _in_print(content: bytes, wanted: list[str]) -> list[str]:
    """Return what is wrong with a PDF: page one on one page, the digest on each."""
    found = [p.extract_text() for p in PdfReader(io.BytesIO(content)).pages]
    wrong = [f"no digest on page {n}" for n, t in enumerate(found, 1) if HEAD not in t]
    if "Handed over to" not in found[0] or "In short" not in found[0]:
        wrong.append("page one is not on one page")
    if any(f"page {n} of {len(found)}" not in t for n, t in enumerate(found, 1)):
        wrong.append("a page without its number")
    first = "".join(found[0].split())
    for figure in wanted:
        told = "".join("".join(spelled(t)[0].split()) for t in figure.splitlines())
        ours = "\n" in figure or figure.startswith("Next due")
        if (told if ours else told[:_CUT]) not in first:
            wrong.append(f"no {figure!r} on the printed page one")
    return wrong
