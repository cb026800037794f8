"""Sheets that are right: what comes out of them."""

import re
from pathlib import Path

import pytest

from bridge.protocol.signal_value import read_signal
from bridge.sheets import find_sheet, load, load_sheet, parse_sheet, shipped_sheets
from bridge.values.errors import SheetError
from bridge.values.readings import Fault, Reading
from bridge.values.sheet import EngineRule, LevelMethod, Role, Signal

SHEETS = Path(__file__).parent.parent / "data" / "sheets"

HEAD = """
[gearbox]
name = "Test gearbox"
source = "invented for tests"
[level]
window = ["35 degC", "45 degC"]
"""


def signal_of(body: str, role: str = "fluid-temperature") -> Signal:
    """Return the one signal that a sheet with this [[signal]] body holds."""
    sheet = parse_sheet(f'{HEAD}\n[[signal]]\nrole = "{role}"\n{body}', "test")
    return sheet.signals[0]


def test_least_sheet_has_the_defaults():
    sheet = load_sheet(SHEETS / "plain.toml")
    assert (sheet.window.low_c, sheet.window.high_c) == (35.0, 45.0)
    assert sheet.engine is EngineRule.IDLING
    assert sheet.settle_time_s is None
    assert sheet.method is LevelMethod.OVERFLOW_TUBE
    assert sheet.protocol == "auto"
    assert (sheet.cautions, sheet.steps) == ((), ())
    assert sheet.origin == str(SHEETS / "plain.toml")
    assert sheet.signals == (
        Signal(
            role=Role.FLUID_TEMPERATURE,
            service=0x22,
            identifier=0x1157,
            request_id=0x7E1,
            reply_id=0x7E9,
            offset=-40.0,
        ),
    )


def test_every_key_of_the_level_and_link_sections():
    sheet = parse_sheet(
        HEAD.replace('["35 degC", "45 degC"]', '["122 °F", "60 degC"]')
        + """
engine = "off"
settle_time = "1.5 min"
stay_chance = 0.75
idle_speed = ["600 rpm", "15 turn/s"]
method = "stick"
[link]
protocol = "7"
[cautions]
lines = ["Hot.", "  Heavy. "]
[steps]
level = ["Open it."]
""",
        "test",
    )
    assert (sheet.window.low_c, sheet.window.high_c) == (50.0, 60.0)
    assert sheet.engine is EngineRule.OFF
    assert sheet.settle_time_s == 90.0
    assert sheet.stay_chance == 0.75
    assert sheet.idle_low_rpm == 600.0
    assert sheet.idle_high_rpm == pytest.approx(900.0)
    assert sheet.method is LevelMethod.STICK
    assert sheet.protocol == "7"
    assert sheet.cautions == ("Hot.", "Heavy.")
    assert sheet.steps == ("Open it.",)


@pytest.mark.parametrize(
    ("request_id", "reply"),
    [
        # ISO 15765-4: 11-bit physical ids 7E0..7E7 are answered with id + 8,
        # 29-bit ids 18DA{unit}F1 with 18DAF1{unit}.
        ('"7E0"', 0x7E8),
        ('"7e7"', 0x7EF),
        ('"0x7E1"', 0x7E9),
        ("0x7E1", 0x7E9),
        ("2017", 0x7E9),
        ('"18DA18F1"', 0x18DAF118),
        ("0x18DA10F1", 0x18DAF110),
    ],
)
def test_reply_id_is_filled_in_by_the_standard(request_id, reply):
    signal = signal_of(
        f'request_id = {request_id}\nservice = 0x22\nidentifier = 1\nunit = "degC"'
    )
    assert signal.reply_id == reply


def test_reply_id_outside_the_standard_is_taken_as_written():
    signal = signal_of(
        'request_id = "6F1"\nreply_id = "612"\nservice = 0x21\nidentifier = 1\n'
        'unit = "degC"'
    )
    assert (signal.request_id, signal.reply_id) == (0x6F1, 0x612)


def test_standard_pid_goes_without_ids():
    # SAE J1979, PID 05: A - 40 °C.
    signal = signal_of(
        'service = 0x01\nidentifier = 0x05\noffset = -40\nunit = "degC"',
        "coolant-temperature",
    )
    assert (signal.request_id, signal.reply_id, signal.data_length) == (None, None, 1)


def fluid(body: str) -> Signal:
    return signal_of(f'request_id = "7E1"\nservice = 0x22\nidentifier = 1\n{body}')


def value_of(signal: Signal, data: str) -> float:
    reading = read_signal(signal, bytes.fromhex(data), t_s=0.0, raw=b"")
    assert isinstance(reading, Reading)
    return reading.value


def test_signal_in_fahrenheit_reads_in_celsius():
    # NIST SP 811, B.8: t/°C = (t/°F - 32)/1.8.
    signal = fluid('offset = -40.0\nunit = "degF"\nminimum = "-40 degF"')
    assert value_of(signal, "87") == pytest.approx(35.0)  # 135 - 40 = 95 °F
    assert signal.minimum == pytest.approx(-40.0)


def test_signal_in_a_unit_only_pint_knows():
    signal = fluid('length = 2\nfactor = 0.1\nunit = "degR"')
    assert value_of(signal, f"{5547:04X}") == pytest.approx(35.0, abs=0.05)


def test_sixteen_bit_scaling_of_an_open_standard():
    # SAE J1939, SPN 177: 0.03125 °C a bit, offset -273 °C, little endian; raw 10016
    # is 40 °C, FFFF is "not available".
    signal = fluid(
        'length = 2\nbyte_order = "little"\nfactor = 0.03125\noffset = -273\n'
        'unit = "degC"\nnot_available = [0xFFFF]'
    )
    assert value_of(signal, "20 27") == pytest.approx(40.0)
    gone = read_signal(signal, b"\xff\xff", t_s=0.0, raw=b"")
    assert isinstance(gone, Fault)


def test_signed_not_available_may_be_written_unsigned():
    signal = fluid(
        'length = 2\nsigned = true\nfactor = 0.1\nunit = "degC"\n'
        "not_available = [0x8000, -2]"
    )
    assert signal.not_available == (-32768, -2)
    assert isinstance(read_signal(signal, b"\x80\x00", t_s=0.0, raw=b""), Fault)


def test_speed_and_time_units_become_those_of_the_role():
    ask = 'request_id = "7E1"\nservice = 0x21\nidentifier = 1\n'
    speed = signal_of(f'{ask}unit = "mph"', "vehicle-speed")
    assert speed.factor == pytest.approx(1.609344)  # NIST SP 811, B.8: exact
    run_time = signal_of(f'{ask}unit = "min"', "engine-run-time")
    assert run_time.factor == 60.0


BLOCK = """
[[signal]]
role = "fluid-temperature"
request_id = "7E1"
service = 0x21
identifier = 0x6D
first_byte = 4
length = 2
unit = "degC"
[[signal]]
role = "selector"
request_id = "7E1"
service = 0x21
identifier = 0x6D
first_byte = 9
labels = { "0" = "P", "0x0B" = "R", "12" = "R" }
"""


def test_signals_of_one_answer_share_its_length():
    sheet = parse_sheet(HEAD + BLOCK, "test")
    assert [signal.data_length for signal in sheet.signals] == [10, 10]
    stated = BLOCK.replace("length = 2", "length = 2\ndata_length = 14")
    sheet = parse_sheet(HEAD + stated, "test")
    assert [signal.data_length for signal in sheet.signals] == [14, 14]


def test_labels_name_raw_values():
    selector = parse_sheet(HEAD + BLOCK, "test").signal(Role.SELECTOR)
    assert selector is not None
    assert selector.labels == ((0, "P"), (11, "R"), (12, "R"))


def test_windows_line_ends_and_a_byte_order_mark_are_fine(tmp_path):
    path = tmp_path / "dos.toml"
    text = (SHEETS / "plain.toml").read_text().replace("\n", "\r\n")
    path.write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert load_sheet(path).name == "Plain test gearbox"


def test_shipped_sheets_are_found_by_name():
    assert shipped_sheets() == tuple(sorted(shipped_sheets()))
    for name in shipped_sheets():
        sheet = load(name)
        assert sheet.origin == name
        assert load_sheet(find_sheet(name)).signals == sheet.signals


def test_a_path_is_found_as_it_is(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text((SHEETS / "plain.toml").read_text())
    assert load("mine.toml").origin == "mine.toml"
    assert find_sheet(str(tmp_path / "mine.toml")).is_file()


def test_a_folder_named_like_a_shipped_sheet_is_in_nobodys_way(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "scar-eight-speed").mkdir()
    assert load("scar-eight-speed").origin == "scar-eight-speed"


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("nothing-like-it", "give the path of a .toml file or one of "),
        ("scar", 'write "scar-eight-speed"'),
        ("scar-eight-spee", 'write "scar-eight-speed"'),
        ("weir-trace-bench.toml", 'write "weir-trace-bench"'),
        ("", "give the path"),
        ("a\0b", r"a\x00b"),
        ("x" * 5000, "give the path"),
        (".", "is not a file"),
        ("/dev/zero", "is not a file"),
    ],
)
def test_no_such_sheet_is_one_sentence(asked, said):
    with pytest.raises(SheetError) as caught:
        load(asked)
    assert said in str(caught.value)
    assert str(caught.value).isprintable()
    assert str(caught.value).endswith(".")


def test_a_vanished_path_is_one_sentence(tmp_path):
    with pytest.raises(SheetError, match="was found"):
        load_sheet(tmp_path / "gone.toml")


def test_an_unreadable_file_is_one_sentence(tmp_path):
    loop = tmp_path / "loop.toml"
    loop.symlink_to(loop)
    with pytest.raises(SheetError, match=r"cannot be read \(.*\); check its path"):
        load(str(loop))


def test_a_denied_file_is_one_sentence(monkeypatch):
    def refuse(*args: object, **kwargs: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)  # root may read everything
    with pytest.raises(SheetError, match=r"\(Permission denied\); check"):
        load(str(SHEETS / "plain.toml"))


def test_a_huge_file_is_one_sentence(tmp_path):
    path = tmp_path / "huge.toml"
    path.write_bytes(b"#" * 300_000)
    with pytest.raises(SheetError, match="far too large"):
        load_sheet(path)


@pytest.mark.parametrize(
    ("file", "said"),
    [
        ("not-utf8", "line 2 that is not UTF-8"),
        ("broken", "broken.toml, line 3: not valid TOML"),
        ("upside-down", 'upside-down.toml, line 7: "window" in [level] is upside down'),
        ("wrong-unit", 'wrong-unit.toml, line 15: "unit" in [[signal]] 1'),
        ("writing-service", "sumpgate only reads; write 0x01, 0x21 or 0x22"),
    ],
)
def test_kept_wrong_files_say_what_is_wrong(file, said):
    with pytest.raises(SheetError) as caught:
        load(str(SHEETS / f"{file}.toml"))
    assert said in str(caught.value)


BEFORE = sorted((Path(__file__).parents[1] / "data/sheets/before").glob("*.toml"))


@pytest.mark.parametrize("path", BEFORE, ids=lambda path: path.stem)
def test_sheets_of_the_version_before_still_load(path):
    sheet = load_sheet(path)
    assert sheet.steps
    assert bool(sheet.service.order) == ("[[fastener]]" in path.read_text("utf-8"))
    told = re.search(r"stay_chance = (.*)", path.read_text("utf-8"))
    assert sheet.stay_chance == (float(told[1]) if told else 0.9)
