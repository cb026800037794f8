"""`sumpgate sheet new`: a few questions, and a sheet that `sheet check` accepts."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.sheets import load_sheet, parse_sheet
from bridge.sheets.warnings.all_warnings import doubts_of
from bridge.units import Units
from tests.everyday import examples
from tui.cli.main import main
from tui.sheet_new.new_sheet import sheet_toml
from tui.sheet_new.questions import QUESTIONS, Interview

FULL = {
    "name": "Test box",
    "source": "Maker's manual, edition 3, section 27",
    "low": "95 F",
    "high": "45",
    "engine": "idling",
    "method": "1",
    "settle": "2 min",
    "selector": "P",
    "total": "6.3 qt",
    "area": "500 cm2",
    "fluid": "fluid to rule 12",
    "service_fill": "4.6",
    "drained": "4.5 L",
    "drain_thread": "M18x1.5",
    "drain_torque": "25 lbf*ft",
    "renew": "washer",
    "level_thread": "M24x1.5",
    "level_torque": "30",
    "fill_torque": "30 Nm",
    "turns": "3",
    "pitch": "1.5 mm",
    "filter": "yes",
    "filter_holds": "0.3 L",
    "positions": "P R N D",
    "hold": "3",
    "distance": "40000 mi",
    "months": "48",
    "readable": "yes",
    "request_id": "7e1",
    "service": "0x22",
    "identifier": "0x1157",
    "first_byte": "",
    "length": "1",
    "factor": "",
    "offset": "-40",
}
LEAST = ["Test box", "", "35", "45"] + [""] * 40


def tell_all(given_answers: dict[str, str], units: Units) -> Interview:
    interview = Interview(units=units)
    while (question := interview.question) is not None:
        assert interview.tell(given_answers[question.name]) == ""
    return interview


@pytest.mark.parametrize(
    ("name", "said", "written"),
    [
        ("identifier", "1940", "0x1940"),
        ("identifier", "0x1940", "0x1940"),
        ("identifier", "2e", "0x2E"),
        ("total", "6,3 l", "6.3 L"),
        ("total", "6.3", "6.3 L"),
        ("drain_torque", "25 lb-ft", "25 lbf*ft"),
        ("low", "95 °F", "95 degF"),
        ("factor", "0,5", "0.5"),
    ],
)
def test_an_answer_is_written_as_a_sheet_has_it(name, said, written):
    at = next(n for n, question in enumerate(QUESTIONS) if question.name == name)
    interview = Interview(units=Units.METRIC, at=at)
    assert interview.tell(said) == ""
    assert interview.answers[name] == written


def feed(monkeypatch, lines: list[str]) -> list[str]:
    """Let the terminal's lines be these; return the prompts as they come."""
    rest, prompts = iter(lines), []

    def answer(prompt: str = "") -> str:
        prompts.append(prompt)
        try:
            return next(rest)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr("builtins.input", answer)
    return prompts


def test_full_answers_make_a_sheet_with_few_doubts():
    assert {q.name for q in QUESTIONS} == set(FULL)
    interview = tell_all(FULL, Units.METRIC)
    sheet = parse_sheet(sheet_toml(interview.answers, Units.METRIC), "new.toml")
    assert sheet.window.low_c == pytest.approx(35.0)
    assert sheet.window.high_c == 45.0
    assert sheet.settle_time_s == 120.0
    service = sheet.service
    # NIST SP 811, B.8: 25 lbf ft = 33.895 N m; 40000 mi = 64373.8 km.
    assert service.fasteners[0].torque_nm == pytest.approx(33.895, abs=0.001)
    assert service.interval is not None
    assert service.interval.distance_km == pytest.approx(64373.76)
    assert service.service_fill_ml == 4600.0
    (doubt,) = doubts_of(sheet)
    # The questions leave out what few tubes have a figure for.
    assert doubt.key == "torque"
    assert "overflow tube" in doubt.why


def test_a_bare_number_has_the_persons_own_unit():
    bare = {**FULL, "low": "95", "high": "113", "service_fill": "4.8", "hold": "3"}
    bare |= {"drain_torque": "25", "total": "6.3", "distance": "40000"}
    answers = tell_all(bare, Units.US).answers
    assert answers["low"] == "95 degF"
    assert answers["service_fill"] == "4.8 qt"
    assert answers["drain_torque"] == "25 lbf*ft"
    assert answers["distance"] == "40000 mi"
    text = sheet_toml(answers, Units.US)
    assert "degC" not in text.replace('unit = "degC"', "").replace("0 degC", "")


def test_an_identifier_is_echoed_as_it_was_taken(monkeypatch, capsys, tmp_path):
    told, path = {**FULL, "identifier": "1940"}, tmp_path / "a.toml"
    feed(monkeypatch, [told[question.name] for question in QUESTIONS])
    assert main(["sheet", "new", str(path), "--units", "metric"]) == 0
    assert "= 0x1940" in capsys.readouterr().out
    assert load_sheet(path).signals[0].identifier == 0x1940
    assert main(["sheet", "show", str(path)]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "identifier 0x1940; byte 0 of 1, raw × 1 - 40 °C" in shown


def test_least_answers_leave_comments_that_say_what_to_look_up(tmp_path, monkeypatch):
    path = tmp_path / "least.toml"
    feed(monkeypatch, LEAST)
    assert main(["sheet", "new", str(path), "--units", "metric"]) == 0
    text = path.read_text("utf-8")
    assert text.count("not known yet") >= 10
    sheet = load_sheet(path)
    keys = {doubt.key for doubt in doubts_of(sheet)}
    # Each doubt is a figure that was left out, none a flaw of what we wrote.
    assert keys <= {
        "settle_time",
        "source",
        "role",
        "name",
        "service_fill",
        "positions",
        "torque",
        "expected",
        "pitch",
        "renew",
    }
    assert len(sheet.cautions) >= 5
    assert sheet.steps


def test_going_back_leaving_out_and_help(monkeypatch, capsys, tmp_path):
    path = tmp_path / "back.toml"
    prompts = feed(
        monkeypatch,
        [
            "<",
            "",
            "?",
            "Tset",
            "<",
            "Test",
            "src of figures",
            "hot",
            "35 C",
            "30 C",
            "<",
            "36",
            "46 °C",
        ]
        + [""] * 40,
    )
    assert main(["sheet", "new", str(path), "--units", "metric"]) == 0
    said = capsys.readouterr().out
    assert "This is the first question" in said
    assert "cannot be left out" in said
    assert "heads the screen" in said
    assert '"hot" is not a temperature' in said
    assert "upper end must be above" in said
    assert prompts[6] == "Where do the figures come from? "
    sheet = load_sheet(path)
    assert (sheet.name, sheet.window.low_c, sheet.window.high_c) == ("Test", 36.0, 46.0)


@pytest.mark.parametrize(
    ("name", "answer", "said"),
    [
        ("low", "35 s", "not a unit of a temperature"),
        ("low", "400 C", "write 0 to 150 degC"),
        ("engine", "on", "type one of 1 idling, 2 off"),
        ("total", "6,300 mL", "can be 6.3 or 6300"),
        ("drain_torque", "25 L", "not a unit of a torque"),
        ("drain_torque", "2500", "write 0.05 to 500 N*m"),
        ("turns", "three", "write a number of turns"),
        ("positions", "P", "write them like P R N D"),
        ("months", "4 years", "write it like 48"),
        ("request_id", "engine", "three hex digits"),
        ("identifier", "1157 hex", "write it like 0x1157"),
        ("factor", "one", "no number"),
        ("offset", "nan", "no number"),
        ("fluid", "a\x1b[2J", "control character"),
        ("fluid", "x" * 500, "keep to 400"),
    ],
)
def test_an_answer_that_cannot_be_taken(name, answer, said):
    interview = Interview(units=Units.METRIC)
    while (question := interview.question) is not None and question.name != name:
        interview.tell(FULL[question.name])
    told = interview.tell(answer)
    assert said in told
    assert told.endswith((".", '"', "."))
    assert interview.question is not None
    assert interview.question.name == name


def test_a_quantity_in_another_unit_is_said_again(monkeypatch, capsys, tmp_path):
    feed(monkeypatch, ["Test", "some manual", "95 F", "45", *[""] * 40])
    assert main(["sheet", "new", str(tmp_path / "x.toml"), "--units", "metric"]) == 0
    said = capsys.readouterr().out
    assert "  = 35 °C\n" in said  # NIST SP 811: 95 °F
    assert said.count("  = ") == 1


def test_limits_are_told_in_the_persons_units():
    interview = Interview(units=Units.US)
    while interview.question is not None and interview.question.name != "total":
        interview.tell({**FULL, "low": "95", "high": "113"}[interview.question.name])
    # 0.5 L = 0.528 qt and 60 L = 63.4 qt (NIST SP 811, B.8).
    assert "write 0.528 to 63.4 qt." in interview.tell("600")


def test_signal_answers_that_do_not_fit_are_asked_again(monkeypatch, capsys, tmp_path):
    path = tmp_path / "again.toml"
    answers = {**FULL, "request_id": "7DF"}
    lines = list(answers.values())
    feed(monkeypatch, lines + list(FULL.values())[-7:])
    assert main(["sheet", "new", str(path), "--units", "metric"]) == 0
    assert "speaks to all control units" in capsys.readouterr().out
    assert load_sheet(path).signals[0].request_id == 0x7E1


def test_nothing_is_overwritten_without_asking(monkeypatch, tmp_path, capsys):
    path = tmp_path / "mine.toml"
    path.write_text("mine")
    for answer in ("", "no", "n"):
        feed(monkeypatch, [answer])
        assert main(["sheet", "new", str(path)]) == 0
        assert path.read_text() == "mine"
        assert "Nothing was written" in capsys.readouterr().out
    feed(monkeypatch, ["yes", *LEAST])
    assert main(["sheet", "new", str(path), "--units", "metric"]) == 0
    assert load_sheet(path).name == "Test box"


def test_without_a_file_its_name_is_asked_for(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    feed(monkeypatch, LEAST[: len(QUESTIONS)] + [""] * 5)
    assert main(["sheet", "new", "--units", "metric"]) == 0
    assert load_sheet(tmp_path / "test-box.toml").name == "Test box"


@pytest.mark.parametrize("count", [0, 1, 5, 20])
def test_an_end_in_the_middle_writes_nothing(monkeypatch, tmp_path, capsys, count):
    path = tmp_path / "none.toml"
    feed(monkeypatch, LEAST[:count])
    assert main(["sheet", "new", str(path)]) == 2
    assert "nothing was written" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_writes_nothing(tmp_path):
    path = tmp_path / "none.toml"
    with subprocess.Popen(
        [sys.executable, "-m", "tui", "sheet", "new", str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        cwd=Path(__file__).parents[3],
    ) as asked:
        assert asked.stdin is not None
        assert asked.stdout is not None
        asked.stdin.write("Test box\n")
        asked.stdin.flush()
        while "What is" not in (line := asked.stdout.readline()):
            if "Ctrl-C" in line:
                break
        asked.send_signal(signal.SIGINT)
        _, errors = asked.communicate(timeout=60)
    assert asked.returncode == 130
    assert errors.strip() == "sumpgate: interrupted, so nothing was written"
    assert list(tmp_path.iterdir()) == []


def test_answers_from_a_file(tmp_path, capsys):
    answers, path = tmp_path / "answers.txt", tmp_path / "new.toml"
    answers.write_text("\n".join(FULL.values()) + "\n")
    flags = ["sheet", "new", str(path), "--answers", str(answers), "--units", "metric"]
    assert main(flags) == 0
    assert "What is the gearbox called? Test box" in capsys.readouterr().out
    assert load_sheet(path).name == "Test box"
    answers.write_text("Test box\nsome manual\nhot\n")
    path.unlink()
    assert main(flags) == 2
    said = capsys.readouterr().err
    assert 'the answer "hot" to "Lowest fluid temperature' in said
    assert said.count("\n") == 1
    assert not path.exists()
    assert main([*flags[:4], str(tmp_path / "gone.txt")]) == 2
    assert "cannot be read" in capsys.readouterr().err


@pytest.mark.parametrize("place", ["no/such/folder/new.toml", "."])
def test_a_place_that_cannot_be_written(monkeypatch, tmp_path, capsys, place):
    monkeypatch.chdir(tmp_path)
    feed(monkeypatch, LEAST)
    assert main(["sheet", "new", place]) == 2
    assert "name another" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


ANSWERS = st.text(max_size=12) | st.sampled_from(
    [*FULL.values(), "", "<", "?", "yes", "no", "off", "stick", "level-plug", "0x21"]
)


@examples(200)
@given(wild=st.lists(ANSWERS, max_size=60), us=st.booleans(), skip=st.integers(0, 4))
def test_whatever_is_typed_the_sheet_that_comes_out_can_be_read(wild, us, skip):
    """Wild answers first; what stays open after them is answered well or left out."""
    units = Units.US if us else Units.METRIC
    interview = Interview(units=units)
    for answer in wild:
        told = interview.tell(answer)
        assert isinstance(told, str)
    for _ in range(200):
        question = interview.question
        if question is None:
            break
        good = {**FULL, "low": "40 degC", "high": "120 degC", "hold": "3 s"}
        leave_out = not question.required and skip and question.name != "readable"
        if question.name == "readable":
            interview.tell("no")
        elif interview.tell("" if leave_out else good[question.name]):
            interview.tell("<")  # the window's lower end was too high
    if interview.question is None and interview.answers.get("readable") != "yes":
        text = sheet_toml(interview.answers, units)
        sheet = parse_sheet(text, "new.toml")
        assert sheet.name
        doubts_of(sheet, units)
