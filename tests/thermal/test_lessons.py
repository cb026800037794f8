"""What one job teaches the next: kept whole, or ignored with one sentence."""

import json
import os

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.jobfile.lesson_file import MOST_CARS, MOST_SHEETS, LessonFile, lessons_path
from bridge.jobfile.recorder import start
from bridge.jobfile.rerun import rerun
from bridge.session.session import advance, apply
from bridge.session.session_state import begin
from bridge.sheets import load, parse_sheet
from bridge.thermal import estimator, lesson
from bridge.thermal.estimator import Sensor
from bridge.thermal.lesson import Lessons, car_key
from bridge.thermal.prior import Prior, weights_of
from bridge.values.codec import from_plain, to_plain
from bridge.values.events import LinkChange
from bridge.values.readings import CheckDigit, LinkState, Reading, VehicleNumber
from bridge.values.sheet import Role
from tests.everyday import examples
from tests.jobfile.job_help import SHEET, T0_S, complain, job

VIN = "1M8GDM9AXKP042788"
"""49 CFR 565.15 gives this number as its worked example."""


def learned(rate_c_per_s=0.03, count=400, prior=None):
    track = estimator.begin(Sensor(resolution_c=1 / 16), prior=prior)
    for n in range(count):
        reading = round((20 + rate_c_per_s * n) * 16) / 16
        track = estimator.observe(track, t_s=float(n), temp_c=reading)
    return track


def a_prior(count=5):
    return lesson.lesson(learned(count=140 + 20 * count))


def test_a_kept_lesson_comes_back_for_the_sheet_and_the_car(tmp_path):
    path = tmp_path / "deep" / "lessons.json"
    one, two = a_prior(1), a_prior(9)
    file = LessonFile("sheet", complain, path)
    assert file.recall() == lesson.NO_LESSONS
    file.keep(one, car_key(VIN))
    file.keep(two, None)
    found = LessonFile("sheet", complain, path).recall()
    assert found.sheet == two
    assert found.cars == {car_key(VIN): one}
    assert LessonFile("another", complain, path).recall() == lesson.NO_LESSONS


def test_the_file_names_no_car(tmp_path):
    path = tmp_path / "lessons.json"
    LessonFile("sheet", complain, path).keep(a_prior(), car_key(VIN))
    assert VIN not in path.read_text("utf-8")


def test_a_glance_at_the_car_teaches_nothing():
    assert lesson.lesson(learned(count=100)) is None
    assert lesson.lesson(learned(count=140)) is not None


def test_a_job_that_taught_nothing_leaves_the_file_alone(tmp_path):
    path = tmp_path / "lessons.json"
    LessonFile("sheet", complain, path).keep(None, car_key(VIN))
    assert not path.exists()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '{"format": 2, "sheets": {}}',
        '{"format": 1}',
        "\udcff",
        "[" * 100_000,
    ],
)
@pytest.mark.few(2)
def test_a_damaged_file_is_ignored_with_one_sentence_and_replaced(tmp_path, text):
    path = tmp_path / "lessons.json"
    path.write_bytes(text.encode("utf-8", "surrogateescape"))
    said = []
    file = LessonFile("sheet", said.append, path)
    assert file.recall() == lesson.NO_LESSONS
    assert len(said) <= 1
    assert all(str(path) in sentence for sentence in said)
    file.keep(a_prior(), None)
    assert LessonFile("sheet", complain, path).recall().sheet == a_prior()


@pytest.mark.parametrize(
    "change",
    [
        {"paths": []},
        {"paths": [0.5, 0.6]},
        {"paths": [1.5, -0.5]},
        {"paths": [1.0, 0.0]},
        {"modes": "much"},
        {"noises": [float("nan")]},
        {"jobs": 0},
        {"jobs": True},
    ],
)
@pytest.mark.few(2)
def test_an_entry_that_makes_no_sense_is_not_used(tmp_path, change):
    path = tmp_path / "lessons.json"
    said = []
    file = LessonFile("sheet", said.append, path)
    file.keep(a_prior(), None)
    told = json.loads(path.read_text("utf-8"))
    (entry,) = told["sheets"].values()
    entry["sheet"].update(change)
    path.write_text(json.dumps(told), "utf-8")
    assert file.recall() == lesson.NO_LESSONS
    assert len(said) == 1


def test_a_write_that_fails_says_so_and_keeps_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "lessons.json"
    said = []
    file = LessonFile("sheet", said.append, path)
    file.keep(a_prior(1), None)
    before = path.read_bytes()

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    file.keep(a_prior(9), None)
    assert path.read_bytes() == before
    assert len(said) == 1
    assert [p.name for p in tmp_path.iterdir()] == ["lessons.json"]


def test_only_the_newest_are_kept(tmp_path):
    path = tmp_path / "lessons.json"
    prior = a_prior()
    for n in range(MOST_CARS + 3):
        LessonFile("sheet", complain, path).keep(prior, f"car {n}")
    cars = LessonFile("sheet", complain, path).recall().cars
    assert len(cars) == MOST_CARS
    assert "car 2" not in cars
    for n in range(MOST_SHEETS + 3):
        LessonFile(f"sheet {n}", complain, path).keep(prior, None)
    assert LessonFile("sheet 0", complain, path).recall() == lesson.NO_LESSONS
    assert LessonFile(f"sheet {n}", complain, path).recall().sheet == prior


def test_lessons_lie_beside_the_jobs(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    from bridge.jobfile.job_folder import folder

    assert lessons_path().parent == folder().parent


@examples(30)
@given(st.integers(1, 12), st.integers(1, 6), st.integers(1, 7), st.integers(1, 99))
def test_plain_and_back(paths, noises, modes, jobs):
    def even(count):
        return (1.0 / count,) * count

    prior = Prior(paths=even(paths), noises=even(noises), modes=even(modes), jobs=jobs)
    told = Lessons(sheet=prior, cars={"a": prior})
    again = from_plain(Lessons, json.loads(json.dumps(to_plain(told))))
    assert (again.sheet, dict(again.cars)) == (prior, {"a": prior})


def test_a_car_known_late_counts_as_much_as_one_known_at_once():
    prior = a_prior(9)
    lessons = Lessons(cars={car_key(VIN): prior})
    early = estimator.observe(
        estimator.begin(Sensor(resolution_c=1 / 16), prior=prior), t_s=0.0, temp_c=20.0
    )
    late = estimator.observe(
        estimator.begin(Sensor(resolution_c=1 / 16)), t_s=0.0, temp_c=20.0
    )
    late = lesson.recall(late, lessons, VIN.lower())
    assert late.bank.weight == pytest.approx(early.bank.weight, rel=1e-9)
    assert lesson.recall(late, lessons, VIN) is late
    assert lesson.recall(late, lessons, "another") is late


def test_a_lesson_of_another_shape_changes_nothing():
    odd = Prior(paths=(1.0,), noises=(1.0,), modes=(1.0,))
    track = learned(count=30)
    told = lesson.recall(track, Lessons(cars={car_key(VIN): odd}), VIN)
    assert told.bank.weight == pytest.approx(track.bank.weight)
    assert weights_of(track.grid, odd) is track.grid.first


@pytest.mark.slow
def test_a_job_with_lessons_replays_to_the_same_decisions(tmp_path):
    path = tmp_path / "a.job"
    lessons = Lessons(sheet=a_prior(2), cars={car_key(VIN): a_prior(9)})
    session = begin(load(SHEET), interval_s=0.2, lessons=lessons)
    recorder = start(path, job(), complain)
    recorder.began(now_s=T0_S, interval_s=0.2, session=session)
    events = [LinkChange(state=LinkState.LIVE, t_s=T0_S)]
    for n in range(300):
        t_s = T0_S + 0.2 * n
        value = round(33.5 + 0.03 * 0.2 * n, 1)
        events.append(Reading(role=Role.FLUID_TEMPERATURE, value=value, t_s=t_s))
        events.append(Reading(role=Role.ENGINE_SPEED, value=750.0, t_s=t_s))
        if n == 20:
            vin = VehicleNumber(t_s=t_s, text=VIN, check_digit=CheckDigit.RIGHT)
            events.append(vin)
    decided = []
    for event in events:
        session = apply(session, event)
        recorder.took(event)
        session, snapshot = advance(session, now_s=event.t_s, t0_s=T0_S)
        recorder.looked(now_s=event.t_s, snapshot=snapshot)
        decided.append(snapshot)
    assert recorder.close()
    again = []
    done = rerun(path, parse_sheet, again.append)
    assert done.differences == []
    assert [s.opens for s in again] == [s.opens for s in decided]
    assert session.track.prior == lessons.cars[car_key(VIN)]
