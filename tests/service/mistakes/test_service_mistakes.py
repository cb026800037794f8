"""Every mistake in what a sheet says of the service: place, key, reason, remedy."""

import re

import pytest

from bridge.sheets import examine, parse_sheet
from bridge.values.errors import SheetError
from bridge.values.service_sheet import Renewal, Service, StepKind
from tests.service.mistakes.service_mistakes import SERVICE_MISTAKES, TEXT


def sentences_of(text: str) -> list[str]:
    """Return what all mistakes say, each checked to be one plain sentence."""
    sheet, mistakes = examine(text, "test.toml")
    assert sheet is None
    said = [str(mistake) for mistake in mistakes]
    for sentence in said:
        assert sentence.isprintable()
        assert sentence.startswith("test.toml")
        assert sentence.endswith(".")
        assert "; " in sentence or ": " in sentence
    return said


def test_the_sheet_that_the_mistakes_are_made_in_is_right():
    service = parse_sheet(TEXT, "test.toml").service
    assert service.order[0] is StepKind.CAUTIONS
    assert service.lines_of(StepKind.CAUTIONS) == ("Hot fluid.",)
    assert service.lines_of(StepKind.DRAIN) == ("Let it out.",)
    assert service.fasteners[0].renew == (Renewal.WASHER,)
    assert service.drains[0].expected_ml == 4000.0
    assert service.service_fill_tolerance_ml == 300.0


@pytest.mark.parametrize(("good", "bad", "key", "wrong", "remedy"), SERVICE_MISTAKES)
def test_mistake(good, bad, key, wrong, remedy):
    assert good in TEXT
    text = TEXT.replace(good, bad, 1)
    said = sentences_of(text)
    assert len(said) == 1  # nothing that only follows from the first
    fault, _, cure = said[0].rpartition("; ")
    assert f'"{key}" in ' in fault
    assert wrong in fault
    assert remedy in cure
    found = re.match(r"test\.toml, line (\d+): ", said[0])
    assert found
    line = text.split("\n")[int(found[1]) - 1]
    assert line.lstrip().startswith((key, f"[{key}", f"[[{key}", "[", "#"))


def test_there_are_at_least_sixty_mistakes_in_the_list():
    assert len({(good, bad) for good, bad, *_ in SERVICE_MISTAKES}) >= 60


def test_signals_need_double_brackets_and_so_do_fasteners():
    (said,) = sentences_of(re.sub(r"\[\[part\]\]", "[part]", TEXT))
    assert '"part" in the sheet is not a list of sections; write [[part]]' in said


def test_no_variant_may_be_left_over():
    (said,) = sentences_of(
        TEXT.replace('look_for = "two pipes"', 'look_for = "two pipes"\nfits = false')
        .replace('look_for = "no pipes"', 'look_for = "no pipes"\nfits = false')
        .replace('only_for = ["long case"]\n', "")
    )
    assert "so the sheet is for none; take it out" in said


def test_all_mistakes_are_told_at_once():
    text = TEXT
    changes = (
        ('window = ["42 degC", "52 degC"]', 'window = ["35", "45"]'),
        ('fill = "6 L"', 'fil = "6 L"'),
        ('service_fill = "4.5 L"', 'service_fill = "4.5"'),
        ('kind = "part"', 'kind = "oil"'),
        ("count = 2", "count = 0"),
        ('torque = "30 N*m"', 'torque = "30"'),
        ('renew = ["washer"]', 'renew = ["washers"]'),
        ("rounds = 2", "rounds = 0"),
        ('severe = ["Towing."]', 'severe = "Towing."'),
        ('"parts", "drain"', '"parts", "drane"'),
    )
    for good, bad in changes:
        assert good in text
        text = text.replace(good, bad, 1)
    said = sentences_of(text)
    keys = [re.search(r'"(\w+)" in ', sentence)[1] for sentence in said]
    assert sorted(keys) == sorted(
        ["window", "fil", "service_fill", "kind", "count", "torque", "renew", "rounds"]
        + ["severe", "order"]
    )
    with pytest.raises(SheetError) as first:
        parse_sheet(text, "test.toml")
    assert str(first.value) == said[0]


def test_a_time_is_whole_months_or_the_days_that_were_written():
    assert '"months"' not in TEXT
    for time, months, days in (
        ("4 years", 48, None),
        ("18 months", 18, None),
        ("50 days", None, 50),
        ("730 days", None, 730),
        ("26 weeks", None, 182),
    ):
        text = TEXT.replace("months = 48", f'time = "{time}"')
        interval = parse_sheet(text, "test.toml").service.interval
        assert interval is not None
        assert (interval.months, interval.days) == (months, days)


def test_quantities_in_any_unit_come_out_in_ours():
    # NIST SP 811, B.8: 1 lbf ft = 1.355818 N m, 1 US quart = 0.9463529 L, 1 mi =
    # 1.609344 km; a turn is 360 degrees.
    text = TEXT.replace('torque = "30 N*m"', 'torque = "20 lbf*ft"')
    text = text.replace('angle = "90 deg"', 'angle = "0.25 turn"')
    text = text.replace('expected = "4 L"', 'expected = "4 qt"')
    text = text.replace('"60000 km"', '"40000 mi"')
    service = parse_sheet(text, "test.toml").service
    assert service.fasteners[0].torque_nm == pytest.approx(27.11636)
    assert service.fasteners[0].angle_deg == pytest.approx(90.0)
    assert service.drains[0].expected_ml == pytest.approx(3785.4118)
    assert service.interval is not None
    assert service.interval.distance_km == pytest.approx(64373.76)


def test_a_sheet_of_the_level_alone_has_an_empty_service():
    text = TEXT[: TEXT.index("[sump]")] + '[steps]\nlevel = ["Open it."]\n'
    assert parse_sheet(text, "test.toml").service == Service()


def test_the_usual_order_has_what_the_sheet_tells():
    text = re.sub(r"order = .*\n", "", TEXT)
    order = parse_sheet(text, "test.toml").service.order
    assert order == tuple(sorted(order, key=list(StepKind).index))
    assert set(StepKind) - set(order) == {StepKind.CLOSING}
    text = re.sub(r"\[\[drain\]\]\n(.+\n)+", "", text)
    text = text.replace('holds = "0.3 L"', "")
    order = parse_sheet(text.replace("drain = ", "#"), "test.toml").service.order
    assert StepKind.DRAIN not in order
    assert StepKind.FILL_PLUG not in order
    assert StepKind.FILTER not in order
