"""Whatever a sheet holds, only a SheetError comes out: one printable sentence."""

import datetime as dt
import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from bridge.level.settling.outflow import settle_of
from bridge.protocol.request import SIGNAL_SERVICES, Request
from bridge.protocol.signal_value import read_signal
from bridge.sheets import examine, find_sheet, load_sheet, parse_sheet, shipped_sheets
from bridge.sheets.keys.all_keys import SECTIONS, heading
from bridge.sheets.warnings.all_warnings import review_sheet
from bridge.units import Units
from bridge.values.errors import SheetError
from bridge.values.readings import Fault, FaultKind
from bridge.values.sheet import Role, Sheet
from tests.everyday import examples
from tui.words.sheet_text import sheet_text

SHEETS = Path(__file__).parent.parent / "data" / "sheets"
PLAIN = (SHEETS / "plain.toml").read_text()
EVERY_KEY = [(section, key) for section, keys in SECTIONS.items() for key in keys]

# Requests that no sheet may lead to: the service is not one that reads.
READING = {0x01, 0x21, 0x22}


def check_outcome(text: str) -> None:
    """Read a text as a sheet: a sound sheet, or one sentence."""
    try:
        sheet = parse_sheet(text, "fuzz.toml")
    except SheetError as error:
        said = str(error)
    else:
        said = ""
        check_sound(sheet)
    if said:
        _, mistakes = examine(text, "fuzz.toml")
        assert said == str(mistakes[0])
        for mistake in mistakes:
            assert str(mistake).isprintable()
            assert str(mistake).endswith(".")
    assert said.isprintable() or not said
    assert not said or (said.startswith("fuzz.toml") and said.endswith("."))


def check_sound(sheet: Sheet) -> None:
    """What the rest of the program relies on, whatever was written."""
    assert 0.0 <= sheet.window.low_c < sheet.window.high_c <= 150.0
    assert 1.0 <= settle_of(sheet).time_s <= 60_000.0
    assert 0.5 <= sheet.stay_chance <= 0.999
    assert 0 < sheet.idle_low_rpm < sheet.idle_high_rpm
    assert len({signal.role for signal in sheet.signals}) == len(sheet.signals)
    assert set(SIGNAL_SERVICES) == READING
    for signal in sheet.signals:
        assert signal.service in READING
        assert Request(service=signal.service, identifier=signal.identifier).payload
        assert (signal.request_id is None) == (signal.reply_id is None)
        assert signal.first_byte + signal.length <= signal.data_length
        assert math.isfinite(signal.factor)
        assert signal.factor != 0
        assert math.isfinite(signal.offset)
        data = bytes(signal.data_length)
        read_signal(signal, data, t_s=0.0, raw=data)
    for units in Units:
        for doubt in review_sheet(sheet, units):
            assert doubt.endswith(".")
        assert sheet_text(sheet, units)
    check_service(sheet)


def check_service(sheet: Sheet) -> None:
    """What the service screen relies on."""
    service = sheet.service
    fits = {variant.name for variant in service.variants if variant.fits}
    fasteners = {fastener.name for fastener in service.fasteners}
    assert len(fasteners) == len(service.fasteners)
    assert len(set(service.order)) == len(service.order)
    assert not service.variants or fits
    for item in (*service.parts, *service.fasteners, *service.drains):
        assert set(item.only_for) <= fits
        assert service.order
    for drain in service.drains:
        assert not drain.fastener or drain.fastener in fasteners
    for fastener in service.fasteners:
        assert fastener.step in service.order
        assert fastener.torque_nm is None or 0 < fastener.torque_nm <= 500
        assert fastener.torque_nm is None or not fastener.hand_tight
        assert fastener.angle_deg is None or fastener.torque_nm is not None
    for step, lines in service.lines:
        assert lines
        assert step in service.order


@examples(300)
@given(text=st.text(max_size=400))
@example(text="\ud800")
@example(text='[gearbox]\nname = "\ud800"')
@example(text="[level]\nwindow = '''\n")
@example(text="signal = 1")
@example(text="signal = [1]")
@example(text="signal = [[]]")
@example(text="gearbox = []")
@example(text="level = 1979-05-27")
def test_any_text(text):
    check_outcome(text)


TOML_LIKE = st.lists(
    st.sampled_from([*"[]{}=.,\"'#\n\\", "'''", '"""', "true", "1", "0x22", "nan"])
    | st.sampled_from([heading(section) for section in SECTIONS])
    | st.sampled_from([key for _, key in EVERY_KEY])
    | st.text(max_size=4),
    max_size=60,
)


@examples(300)
@given(parts=TOML_LIKE)
def test_text_that_looks_like_a_sheet(parts):
    check_outcome("".join(parts))
    check_outcome(" ".join(parts))


@settings(
    max_examples=200,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(content=st.binary(max_size=400))
@example(content=b"\xff\xfe[\x00g\x00")
@example(content=b"\xef\xbb\xbf")
@example(content=PLAIN.encode("utf-16"))
def test_any_bytes_in_a_file(content, tmp_path):
    path = tmp_path / "fuzz.toml"
    path.write_bytes(content)
    with pytest.raises(SheetError) as caught:
        load_sheet(path)
    assert str(caught.value).isprintable()


@examples(300)
@given(
    place=st.integers(0, len(PLAIN) - 1),
    cut=st.integers(0, 12),
    put=st.text(max_size=8) | st.sampled_from(['"', "]", "\n", "= ", "9" * 5000]),
)
def test_a_good_sheet_with_a_slip_of_the_pen(place, cut, put):
    check_outcome(PLAIN[:place] + put + PLAIN[place + cut :])


SHIPPED = [find_sheet(name).read_text("utf-8") for name in shipped_sheets()]


@examples(200)
@given(
    text=st.sampled_from(SHIPPED),
    at=st.floats(0, 1),
    cut=st.integers(0, 60),
    put=st.text(max_size=8)
    | st.sampled_from(
        ['"', "]", "[[drain]]\n", "= ", "\n[x]\n", '"0 L"', "true", "[]"]
    ),
)
def test_a_shipped_sheet_with_a_slip_of_the_pen(text, at, cut, put):
    place = int(at * (len(text) - 1))
    check_outcome(text[:place] + put + text[place + cut :])


@examples(150)
@given(data=st.data(), text=st.sampled_from(SHIPPED))
def test_a_shipped_sheet_with_lines_mixed_up(data, text):
    lines = text.split("\n")
    for _ in range(data.draw(st.integers(1, 4))):
        first = data.draw(st.integers(0, len(lines) - 1))
        second = data.draw(st.integers(0, len(lines) - 1))
        lines[first], lines[second] = lines[second], lines[first]
        del lines[data.draw(st.integers(0, len(lines) - 1))]
    check_outcome("\n".join(lines))


def toml_of(value: object) -> str:
    """Write a value as TOML: the reverse of the reader, for tests only."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08X}" for c in value) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_of, value)) + "]"
    if isinstance(value, dict):
        pairs = (f"{toml_of(k)} = {toml_of(v)}" for k, v in value.items())
        return "{" + ", ".join(pairs) + "}"
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    return str(value)


WORDS = st.characters(exclude_categories=["Cs"])
TEXTS = st.text(WORDS, max_size=12) | st.sampled_from(
    ["7E1", "7E9", "18DA18F1", "35 degC", "1 s", "90 °F", "700 rpm", "degC", "degF"]
    + ["idling", "off", "big", "little", "auto", "7", "stick", *Role]
)
NUMBERS = (
    st.sampled_from([0, 1, 2, 3, 4, 0x22, 0x2E, 0x7E1, 0xFF, 10**400, -(10**400)])
    | st.integers()
    | st.floats()
)
VALUES = st.recursive(
    NUMBERS | TEXTS | st.booleans() | st.dates() | st.times(),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=3)
    ),
    max_leaves=8,
)


@pytest.mark.parametrize(("section", "key"), EVERY_KEY)
@examples(60)
@given(value=VALUES)
@pytest.mark.slow
def test_any_value_at_any_key(section, key, value):
    check_outcome(with_value(section, key, toml_of(value)))


def with_value(section: str, key: str, value: str) -> str:
    """Return the plain sheet with one key set; the section is added if need be."""
    lines = [
        line
        for line in PLAIN.split("\n")
        if not (
            line.startswith(f"{key} =") and section in ("level", "signal", "gearbox")
        )
    ]
    title = heading(section)
    if title not in lines:
        lines += ["", title]
    lines.insert(lines.index(title) + 1, f"{key} = {value}")
    return "\n".join(lines)


@examples(200)
@given(
    first_byte=st.integers(0, 4),
    length=st.integers(1, 4),
    signed=st.booleans(),
    little=st.booleans(),
    as_read=st.booleans(),
    data=st.binary(min_size=8, max_size=8),
)
def test_a_raw_value_named_missing_never_becomes_a_reading(
    first_byte, length, signed, little, as_read, data
):
    # The bytes, taken apart here and by other means than in the program.
    field = data[first_byte : first_byte + length]
    raw = sum(byte << 8 * i for i, byte in enumerate(field if little else field[::-1]))
    if as_read and signed and raw >> (8 * length - 1):
        raw -= 1 << 8 * length
    text = PLAIN.replace(
        "offset = -40.0",
        f"offset = -40.0\nfirst_byte = {first_byte}\nlength = {length}\n"
        f"signed = {toml_of(signed)}\ndata_length = 8\nnot_available = [{raw}]\n"
        f"byte_order = {toml_of('little' if little else 'big')}",
    )
    signal = parse_sheet(text, "fuzz.toml").signals[0]
    outcome = read_signal(signal, data, t_s=0.0, raw=data)
    assert isinstance(outcome, Fault)
    assert outcome.kind is FaultKind.NOT_AVAILABLE
