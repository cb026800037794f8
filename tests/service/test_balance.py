"""Amounts, the balance, the first fill, low or high, and what is left of the old."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.level.volume import volume_at
from bridge.service import amounts, balance, rounds
from bridge.service.amounts import (
    DRAINED,
    Amount,
    Jug,
    MeasuredAmount,
    Terms,
    corrected,
)
from bridge.service.balance import BalanceVerdict, FillNote
from bridge.values.service_sheet import Service
from bridge.values.sheet import Sheet, Window

SERVICE = Service(
    service_fill_ml=5000.0, service_fill_tolerance_ml=200.0, filter_holds_ml=300.0
)
measures = st.builds(
    MeasuredAmount,
    ml=st.floats(0.0, 12_000.0),
    temp_c=st.none() | st.floats(-20.0, 110.0),
    place=st.sampled_from(("main drain", "second drain", "")),
)
lists = st.lists(measures, max_size=4)
references = st.floats(0.0, 60.0)


def out(ml, temp_c=20.0, place="main drain"):
    return MeasuredAmount(ml=ml, temp_c=temp_c, place=place)


def test_the_balance_of_a_service():
    done = balance.balance(
        [out(4000.0, 60.0), out(1500.0, 60.0, "second drain")],
        [out(5000.0, 20.0, "funnel"), out(600.0, 20.0, "funnel")],
        [out(300.0, 40.0, "level")],
    )
    assert done.out.ml == pytest.approx(5335.2, abs=0.2)
    assert done.put_in.ml == pytest.approx(5600.0)
    assert done.ran_off.ml == pytest.approx(300 * 0.985079, abs=0.01)
    # two pours, two drains and one run-off: half of 20 mL is lost of each (4.3.8)
    assert done.kept.ml == pytest.approx(
        done.put_in.ml - done.ran_off.ml - 30.0, abs=0.3
    )
    assert done.net.ml == pytest.approx(done.kept.ml - done.out.ml - 20.0, abs=0.8)
    assert done.pours == 2
    assert done.assumed == ()


def test_nothing_measured_is_nothing():
    done = balance.balance([], [])
    assert (done.net.ml, done.net.sd_ml, done.pours) == (0.0, 0.0, 0)
    assert balance.judge(done, SERVICE) is None


def test_an_unknown_temperature_is_told_and_costs_certainty():
    known = balance.balance([out(5000.0, 42.5)], [out(5000.0)])
    unknown = balance.balance([out(5000.0, None)], [out(5000.0)])
    assert unknown.assumed == ("main drain",)
    assert unknown.out.ml == pytest.approx(known.out.ml)  # the range's middle
    assert unknown.net.sd_ml > known.net.sd_ml
    # 55 degC wide, 7.57e-4 per degC (54D's mean), rectangular
    by_hand = 55.0 * 7.57e-4 * unknown.out.ml / math.sqrt(12.0)
    assert unknown.out.temp_sd_ml == pytest.approx(by_hand, rel=0.05)


@given(lists, lists, lists, references, references)
def test_the_reference_moves_all_amounts_alike(a, b, c, first_c, second_c):
    one = balance.balance(a, b, c, Terms(reference_c=first_c))
    two = balance.balance(a, b, c, Terms(reference_c=second_c))
    for name in ("out", "put_in", "ran_off", "kept", "net"):
        moved = volume_at(getattr(one, name).ml, from_c=first_c, to_c=second_c)
        assert getattr(two, name).ml == pytest.approx(moved, rel=1e-9, abs=1e-6)


@given(lists, lists, lists)
def test_no_doubt_is_lost_on_the_way(a, b, c):
    done = balance.balance(a, b, c)
    assert done.net.sd_ml >= max(done.out.sd_ml, done.put_in.sd_ml) - 1e-9
    assert done.kept.sd_ml >= done.put_in.sd_ml - 1e-9


@given(lists, lists, lists)
def test_what_is_lost_never_cancels(a, b, c):
    done = balance.balance(a, b, c)
    # JCGM 100:2008, 4.3.8: between nothing and a bound, so half of it, give or take
    # half of it over the root of three; a few percent of that with its temperature
    measured = sum(m.ml > 0.0 for m in (*a, *b, *c))
    lost = 0.5 * Jug().left_most_ml * measured
    assert done.net.left_sd_ml == pytest.approx(lost / math.sqrt(3.0), rel=0.1)
    plain = done.put_in.ml - done.out.ml - done.ran_off.ml
    assert plain - done.net.ml == pytest.approx(lost, rel=0.1, abs=1e-9)


def sd_with_one_jug(done):
    """The scale's share if in truth one jug and thermometer measured everything."""
    in_, out_, over = done.put_in, done.out, done.ran_off
    return abs(in_.scale_sd_ml - out_.scale_sd_ml - over.scale_sd_ml)


@given(lists, lists, lists)
def test_the_doubt_holds_whether_it_was_one_jug_or_several(a, b, c):
    done = balance.balance(a, b, c)
    assert done.net.scale_sd_ml >= sd_with_one_jug(done) - 1e-9
    assert done.net.scale_sd_ml >= math.hypot(
        done.put_in.scale_sd_ml, done.out.scale_sd_ml, done.ran_off.scale_sd_ml
    ) - 1e-9  # fmt: skip


@pytest.mark.parametrize("ml", [-1.0, 60_001.0, math.nan, math.inf])
def test_an_amount_that_cannot_be_is_refused(ml):
    with pytest.raises(ValueError, match=r"\(main drain\) cannot be: type the amount"):
        balance.balance([out(ml)], [])


@pytest.mark.parametrize("temp_c", [-51.0, 151.0, math.nan])
def test_a_temperature_beyond_the_table_is_refused(temp_c):
    with pytest.raises(ValueError, match="outside -50 to 150"):
        balance.balance([out(100.0, temp_c)], [])


@pytest.mark.parametrize("temp_c", [-50.0, 150.0])
@pytest.mark.parametrize("density", [800.0, 1164.0])
def test_the_ends_of_the_table_still_work(temp_c, density):
    done = balance.balance([out(1.0, temp_c)], [], (), Terms(density_kg_m3=density))
    assert done.out.temp_sd_ml > 0.0
    assert done.out.density_sd_ml > 0.0


def test_a_finer_jug_doubts_less():
    fine = Jug(graduation_ml=10.0, holds_ml=5000.0, scale_half=0.002, left_most_ml=5.0)
    coarse = amounts.corrected(out(5000.0), Terms(), amounts.DRAINED)
    exact = amounts.corrected(out(5000.0), Terms(jug=fine), amounts.DRAINED)
    assert exact.expanded_ml < 0.25 * coarse.expanded_ml


def test_more_jugs_full_are_more_readings():
    one = amounts.corrected(out(2000.0), Terms(), amounts.DRAINED)
    two = amounts.corrected(out(2000.1), Terms(), amounts.DRAINED)
    assert two.reading_sd_ml > one.reading_sd_ml


def test_the_sheet_gives_the_terms():
    sheet = Sheet(name="x", source="y", window=Window(low_c=35.0, high_c=45.0))
    assert balance.terms_of(sheet) == Terms(reference_c=20.0)
    told = Sheet(
        name="x",
        source="y",
        window=sheet.window,
        density_kg_m3=842.0,
        service=Service(service_fill_temp_c=15.0),
    )
    terms = balance.terms_of(told)
    assert (terms.reference_c, terms.density_kg_m3) == (15.0, 842.0)
    assert terms.density_half_kg_m3 < Terms().density_half_kg_m3


# --- low or high -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("by", "doubt", "tolerance", "verdict"),
    [
        (0.0, 150.0, 200.0, BalanceVerdict.WITHIN),
        (50.0, 150.0, 200.0, BalanceVerdict.WITHIN),
        (51.0, 150.0, 200.0, BalanceVerdict.CANNOT_TELL),
        (350.0, 150.0, 200.0, BalanceVerdict.CANNOT_TELL),
        (351.0, 150.0, 200.0, BalanceVerdict.HIGH),
        (-350.0, 150.0, 200.0, BalanceVerdict.CANNOT_TELL),
        (-351.0, 150.0, 200.0, BalanceVerdict.LOW),
        (0.0, 201.0, 200.0, BalanceVerdict.CANNOT_TELL),
        (0.0, 0.0, None, BalanceVerdict.CANNOT_TELL),
        (10.0, 9.0, None, BalanceVerdict.HIGH),
        (-10.0, 9.0, None, BalanceVerdict.LOW),
        (10.0, 11.0, None, BalanceVerdict.CANNOT_TELL),
    ],
)
def test_a_verdict_needs_the_whole_uncertainty(by, doubt, tolerance, verdict):
    assert balance.verdict_of(by, doubt, tolerance) is verdict


@given(st.floats(-2e3, 2e3), st.floats(0, 500), st.none() | st.floats(0, 500))
def test_a_verdict_is_never_the_opposite_of_the_truth(by, doubt, tolerance):
    verdict = balance.verdict_of(by, doubt, tolerance)
    allowed = tolerance or 0.0
    for truth in (by - doubt, by, by + doubt):
        assert not (verdict is BalanceVerdict.HIGH and truth <= allowed - 1e-6)
        assert not (verdict is BalanceVerdict.LOW and truth >= -allowed + 1e-6)
        assert not (verdict is BalanceVerdict.WITHIN and abs(truth) > allowed + 1e-6)


def test_more_doubt_never_makes_a_verdict():
    for doubt in range(0, 1000, 10):
        if balance.verdict_of(300.0, doubt, 200.0) is BalanceVerdict.CANNOT_TELL:
            assert (
                balance.verdict_of(300.0, doubt + 10, 200.0)
                is BalanceVerdict.CANNOT_TELL
            )


def test_low_and_high_against_the_sheet():
    low = balance.judge(balance.balance([], [out(4000.0)]), SERVICE)
    high = balance.judge(balance.balance([], [out(6000.0)]), SERVICE, 5500.0)
    assert (low.verdict, high.verdict) == (BalanceVerdict.LOW, BalanceVerdict.HIGH)
    assert (low.by_ml, high.by_ml) == pytest.approx((-1010.0, 990.0))
    assert low.over_total_ml is None
    assert high.over_total_ml == pytest.approx(490.0)


def test_a_sheet_without_a_service_fill_has_no_verdict():
    assert balance.judge(balance.balance([], [out(4000.0)]), Service()) is None


def test_every_verdict_and_note_has_its_words():
    assert set(balance.VERDICT_TEXT) == set(BalanceVerdict)
    assert set(balance.FILL_NOTE_TEXT) == set(FillNote)


# --- the first fill --------------------------------------------------------------


def suggest(ml, service=SERVICE, *, filter_changed=False, total_ml=None, short=False):
    drained = balance.balance([out(ml)], []).out
    return balance.first_fill(
        drained,
        service,
        filter_changed=filter_changed,
        total_ml=total_ml,
        short=short,
    )


def test_what_came_out_goes_in():
    fill = suggest(4900.0)
    assert (fill.ml, fill.wanted_ml) == pytest.approx((4900.0, 4900.0))
    assert fill.notes == ()
    assert fill.expanded_ml > 0.0


def test_a_new_filter_takes_its_share():
    fill = suggest(4700.0, filter_changed=True)
    assert fill.ml == pytest.approx(5000.0)
    assert fill.notes == (FillNote.FILTER_ADDED,)


def test_a_filter_the_sheet_does_not_know_is_said():
    fill = suggest(4700.0, Service(), filter_changed=True)
    assert fill.ml == pytest.approx(4700.0)
    assert fill.notes == (FillNote.FILTER_UNKNOWN,)


def test_the_sheet_caps_it_and_says_so():
    fill = suggest(5300.0)
    assert fill.ml == pytest.approx(5200.0)
    assert fill.wanted_ml == pytest.approx(5300.0)
    assert fill.notes == (FillNote.CAPPED_BY_SHEET,)


def test_the_whole_gearbox_caps_it_and_says_so():
    fill = suggest(9000.0, Service(), total_ml=8000.0)
    assert fill.ml == pytest.approx(8000.0)
    assert fill.notes == (FillNote.CAPPED_BY_TOTAL,)


def test_little_that_came_out_is_said():
    fill = suggest(3000.0, short=True)
    assert fill.ml == pytest.approx(3000.0)
    assert fill.notes == (FillNote.LESS_THAN_USUAL,)


def test_nothing_out_nothing_suggested():
    assert suggest(0.0) is None


@given(
    st.floats(1.0, 20_000.0),
    st.none() | st.floats(500.0, 12_000.0),
    st.none() | st.floats(0.0, 500.0),
    st.none() | st.floats(0.0, 800.0),
    st.none() | st.floats(500.0, 12_000.0),
    st.booleans(),
)
def test_never_over_the_sheet_without_saying_so(
    ml, fill_ml, tolerance, holds, total, changed
):
    service = Service(
        service_fill_ml=fill_ml,
        service_fill_tolerance_ml=tolerance,
        filter_holds_ml=holds,
    )
    fill = suggest(ml, service, filter_changed=changed, total_ml=total)
    assert fill.ml <= (math.inf if fill_ml is None else fill_ml + (tolerance or 0.0))
    assert fill.ml <= (math.inf if total is None else total)
    cut = {FillNote.CAPPED_BY_SHEET, FillNote.CAPPED_BY_TOTAL} & set(fill.notes)
    assert bool(cut) == (fill.ml < fill.wanted_ml)


# --- old fluid left --------------------------------------------------------------


def shares(part, sd_part=0.0, times=1):
    one = Amount(ml=1000.0 * part, reading_sd_ml=1000.0 * sd_part)
    return [one] * times, Amount(ml=1000.0)


def test_the_trade_table():
    # four tenths a drain: 60, 36, 21.6, 12.96 % (trade figures, check by the formula)
    left = [rounds.old_share(*shares(0.4, times=n)).share for n in range(5)]
    assert left == pytest.approx([1.0, 0.6, 0.36, 0.216, 0.1296])


def test_the_doubt_of_a_share():
    # d(1-p)^2/dp = -2(1-p): 2 x 0.6 x 0.02
    left = rounds.old_share(*shares(0.4, 0.02, 2))
    assert left.sd == pytest.approx(0.024)
    assert (left.low, left.high) == pytest.approx((0.312, 0.408))
    total = Amount(ml=1000.0, reading_sd_ml=50.0)
    unsure = rounds.old_share([Amount(ml=400.0)], total)
    assert unsure.sd == pytest.approx(0.4 * 0.05)


def test_a_share_stays_a_share():
    left = rounds.old_share(*shares(0.98, 0.2))
    assert (left.low, left.high <= 1.0) == (0.0, True)


def test_impossible_drains_are_refused():
    with pytest.raises(ValueError, match="that cannot be, measure again"):
        rounds.old_share(*shares(1.2, 0.05))
    with pytest.raises(ValueError, match="more than 0 mL"):
        rounds.old_share([Amount(ml=1.0)], Amount(ml=0.0))
    assert rounds.old_share(*shares(1.02, 0.05)).share == 0.0


def test_what_was_weighed_has_the_scales_doubt_and_not_the_jugs():
    """5 L by a kitchen scale: 0.5 % of scale, and 5 of 850 kg/m3, both rectangular."""
    terms = Terms(reference_c=15.0, density_kg_m3=850.0, density_half_kg_m3=5.0)
    read = MeasuredAmount(ml=5000.0, temp_c=15.0, weighed=True)
    found = corrected(read, terms, DRAINED)
    assert found.ml == pytest.approx(5000.0)
    assert found.temp_sd_ml == 0.0
    assert found.scale_sd_ml == pytest.approx(25.0 / 3**0.5)
    assert found.density_sd_ml == pytest.approx(5000.0 * 5.0 / 850.0 / 3**0.5)
    assert found.reading_sd_ml == pytest.approx(5.0 / 0.85)  # three times, 5 g each
    by_jug = corrected(replace(read, weighed=False), terms, DRAINED)
    assert found.expanded_ml < 0.5 * by_jug.expanded_ml
