"""A level that is set by measuring alone: no window, no opening, a proven balance."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.level.budget import Source
from bridge.service import sums
from bridge.service.against import against
from bridge.service.balance import BalanceVerdict
from bridge.sheets import parse_sheet
from bridge.sheets.warnings.all_warnings import review_sheet
from bridge.units import Units
from bridge.values.errors import SheetError, UsageError
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import NO_WINDOW
from tui.cli.flags.sheet_flags import with_level_step
from tui.words.sheet_text import sheet_text

FILE = Path(__file__).parents[1] / "data" / "sheets" / "ways" / "brae-measured.toml"
TEXT = FILE.read_text("utf-8")
SHEET = parse_sheet(TEXT, "brae")


def out(ml: float) -> ServiceEvent:
    return ServiceEvent(kind=ServiceKind.OUT, name="pan", ml=ml, temp_c=20.0)


def put_in(ml: float) -> ServiceEvent:
    return ServiceEvent(kind=ServiceKind.IN, ml=ml, temp_c=20.0)


FILTER = ServiceEvent(kind=ServiceKind.DONE, step=StepKind.FILTER)
FILLED = ServiceEvent(kind=ServiceKind.DONE, step=StepKind.FILL)


def test_the_sheet_needs_no_window_and_leaves_no_doubt() -> None:
    assert SHEET.window == NO_WINDOW
    assert not SHEET.has_level_step
    assert list(review_sheet(SHEET, Units.METRIC)) == []
    told = sheet_text(SHEET, Units.METRIC, 80)
    assert "no level step" in told
    assert "1000" not in told


@pytest.mark.parametrize(
    ("log", "verdict"),
    [
        ((out(4200.0), FILTER, put_in(4500.0)), BalanceVerdict.WITHIN),
        ((out(4200.0), put_in(4200.0)), BalanceVerdict.WITHIN),
        ((out(4200.0), FILTER, put_in(4000.0)), BalanceVerdict.LOW),
        ((out(4200.0), FILTER, put_in(5000.0)), BalanceVerdict.HIGH),
        ((out(4200.0), FILTER, put_in(4300.0)), BalanceVerdict.CANNOT_TELL),
    ],
)
def test_what_came_out_goes_in(
    log: tuple[ServiceEvent, ...], verdict: BalanceVerdict
) -> None:
    found = sums.refill_of(SHEET, log)
    assert found is not None
    assert found.verdict is verdict
    proven = not [a for a in against(SHEET, log) if a.id.startswith("refill")]
    assert proven is (verdict is BalanceVerdict.WITHIN)


def test_a_fill_that_nobody_measured_proves_nothing() -> None:
    assert "refill-unknown" in [a.id for a in against(SHEET, (FILLED,))]


def test_there_is_nothing_to_watch_live() -> None:
    with pytest.raises(UsageError, match="use sumpgate service"):
        with_level_step(SHEET, "brae")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('engine = "off"', 'window = ["30 degC", "40 degC"]', "is of a level step"),
        ('"fill", "closing"', '"fill", "level", "closing"', "has no level step"),
        ('"fill", "closing"', '"closing"', 'needs "drain" and "fill"'),
        ('method = "measured-refill"', 'method = "level-plug"', '"window"'),
    ],
)
def test_what_contradicts_it_is_refused(old: str, new: str, said: str) -> None:
    with pytest.raises(SheetError, match=said):
        parse_sheet(TEXT.replace(old, new), "brae")


def test_a_level_by_measure_has_one_budget_with_the_jugs_in_it() -> None:
    log = (out(3900.0), put_in(3900.0))
    judged, worth = sums.refill_of(SHEET, log), sums.refill_budget(SHEET, log)
    assert judged is not None
    assert worth is not None
    assert worth.off_ml == pytest.approx(judged.by_ml)
    assert worth.expanded_ml == pytest.approx(judged.expanded_ml)
    sds = {part.source: part.sd_ml for part in worth.parts}
    assert max(sds, key=lambda s: sds[s] or 0.0) is Source.JUG
    assert sums.refill_budget(SHEET, ()) is None
