"""The bench as programs meet it: pipe, TCP, pseudo-terminal, control, plans."""

from __future__ import annotations

import asyncio
import json

import pytest

from bridge.values.errors import LinkLost, PortError, UsageError
from bridge.values.trace_text import parse_trace
from simulators.adapter.adapter_settings import AdapterSettings
from simulators.car.curve import Curve
from simulators.car.scenes import make_bench
from simulators.faults.all_faults import FAULTS, make_fault
from simulators.faults.fault_schedule import Planned, parse_scene_file, random_faults
from simulators.serve.control import obey
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from simulators.serve.served import address

# -- in one process --------------------------------------------------------------


def simulated(play):
    with asyncio.Runner(loop_factory=PacedLoop) as runner:
        return runner.run(play())


async def ask(pipe, text: str) -> tuple[str, float]:
    pipe.write(text.encode() + b"\r")
    out, t_s = b"", 0.0
    while not out.endswith(b">"):
        data, t_s = await pipe.read()
        out += data
    return out.decode("latin-1"), t_s


def test_a_pipe_carries_bytes_with_their_time():
    async def play():
        bench = make_bench("cold-start", None)
        pipe = BenchPipe(bench)
        await ask(pipe, "ATE0")
        await asyncio.sleep(100)
        _text, t_s = await ask(pipe, "ATRV")
        return t_s

    assert 100 < simulated(play) < 100.1


def test_two_runs_are_the_same_to_the_last_digit():
    async def play():
        bench = make_bench("cold-start", None, seed=3)
        bench.plan(random_faults(5, 20.0, length_s=60, names=["pending", "noise"]))
        pipe = BenchPipe(bench)
        said = []
        for _ in range(200):
            said.append(await ask(pipe, "221157"))
            await asyncio.sleep(0.2)
        return said

    assert simulated(play) == simulated(play)


def test_what_a_bench_is_made_of_counts():
    async def play():
        made = AdapterSettings(version="ELM327 v9.9", baud=9600)
        bench = make_bench("hot", None, settings=made, faults=[make_fault("refused")])
        assert not bench.car.engine_running
        assert bench.adapter.settings.baud == 9600
        assert make_bench("hot", None, baud=38400).adapter.settings.baud == 38400
        pipe = BenchPipe(bench)
        assert "v9.9" in (await ask(pipe, "ATI"))[0]
        return (await ask(pipe, "0105"))[0], list(bench.active)

    said, active = simulated(play)
    assert "7F 01 31" in said
    assert active == ["refused"]


def test_closing_wakes_the_reader_and_frees_the_bench():
    async def play():
        bench = make_bench("cold-start", None)
        pipe = BenchPipe(bench)
        reader = asyncio.create_task(pipe.read())
        await asyncio.sleep(1)
        pipe.close()
        pipe.close()
        with pytest.raises(LinkLost, match="closed"):
            await reader
        with pytest.raises(LinkLost):
            pipe.write(b"x")
        assert bench.port is None
        return await ask(BenchPipe(bench), "ATI")

    assert "ELM327" in simulated(play)[0]


def test_unplugging_for_a_while():
    async def play():
        bench = make_bench("cold-start", None)
        pipe = BenchPipe(bench)
        reader = asyncio.create_task(pipe.read())
        await asyncio.sleep(1)
        bench.unplug(5.0)
        with pytest.raises(LinkLost, match="unplugged"):
            await reader
        await asyncio.sleep(4.9)
        with pytest.raises(PortError):
            BenchPipe(bench)
        await asyncio.sleep(0.2)
        return await ask(BenchPipe(bench), "ATI")

    assert "ELM327" in simulated(play)[0]


def test_the_newer_program_takes_the_bench_over():
    async def play():
        bench = make_bench("cold-start", None)
        first, second = BenchPipe(bench), BenchPipe(bench)
        with pytest.raises(LinkLost):
            await first.read()
        return await ask(second, "ATI")

    assert "ELM327" in simulated(play)[0]


def test_truth_is_what_the_unit_answered_from():
    async def play():
        bench = make_bench("cold-start", None)
        pipe = BenchPipe(bench)
        rows = []
        for _ in range(20):
            await asyncio.sleep(30)
            text, t_s = await ask(pipe, "221160")
            raw = int(text.split("62 11 60 ")[1][:5].replace(" ", ""), 16)
            rows.append((raw / 16, bench.truth(t_s).sensor_c))
        return rows

    for read_c, true_c in simulated(play):
        assert read_c == pytest.approx(true_c, abs=0.04)


def test_a_trace_plays_as_the_fluid_and_ends_in_dropouts():
    trace = Curve(parse_trace("time_s,temp_c\n0,20\n100,45\n", "t"))

    async def play():
        bench = make_bench("cold-start", None, trace=trace)
        pipe = BenchPipe(bench)
        rows = []
        for at_s in (40, 80, 101):
            await asyncio.sleep(at_s - bench.now_s())
            rows.append((await ask(pipe, "221157"))[0].split("62 11 57 ")[1][:2])
        return rows, bench.car.ended

    # 30 and 40 degC with 40 added; the scale's FF where there is no reading
    rows, ended = simulated(play)
    assert rows == ["46", "50", "FF"]
    assert ended


def test_a_bench_can_run_its_car_faster_than_its_adapter():
    async def play():
        bench = make_bench("cold-start", None, scale=20.0)
        pipe = BenchPipe(bench)
        await asyncio.sleep(30)
        await ask(pipe, "ATE0")
        began_s = bench.now_s()
        await ask(pipe, "221157")
        return bench.truth().t_s, bench.now_s() - began_s

    car_s, took_s = simulated(play)
    assert car_s == pytest.approx(600, abs=15)
    assert took_s < 0.5


# -- plans -------------------------------------------------------------------------

PLAN = """
[[fault]]
at = "30 s"
name = "silent"
for = "5 s"

[[fault]]
at = "0.5 min"
name = "refused"
code = 0x22
"""


def test_a_scene_file_is_read():
    assert parse_scene_file(PLAN, "f.toml") == (
        Planned(at_s=30.0, name="silent", for_s=5.0),
        Planned(at_s=30.0, name="refused", options=(("code", 0x22),)),
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ("nothing",)),
        ("x = [", ("TOML",)),
        ("[scene]\nname='x'", ("scene",)),
        ("fault = 3", ("nothing",)),
        ("fault = [3]", ("fault 1", "table")),
        ("[[fault]]\nname='silent'", ("fault 1", "no at")),
        ("[[fault]]\nat='1 s'", ("fault 1", "no name")),
        ("[[fault]]\nat='1 s'\nname='gremlin'", ("fault 1", "gremlin")),
        ("[[fault]]\nat='soon'\nname='silent'", ("fault 1", "at", "soon")),
        ("[[fault]]\nat=5\nname='silent'", ("fault 1", "at", "5")),
        ("[[fault]]\nat='-1 s'\nname='silent'", ("fault 1", "at")),
        ("[[fault]]\nat='1 s'\nfor='1 day'\nname='silent'", ("fault 1", "for", "day")),
        ("[[fault]]\nat='1 s'\nname='silent'\ncolour='red'", ("fault 1", "colour")),
    ],
)
def test_bad_scene_files_are_refused_in_one_sentence(text, words):
    with pytest.raises(UsageError) as caught:
        parse_scene_file(text, "f.toml")
    said = str(caught.value)
    assert said.startswith("f.toml")
    assert "\n" not in said
    for word in words:
        assert word in said


def test_planned_faults_come_and_go():
    async def play():
        bench = make_bench("cold-start", None)
        bench.plan(parse_scene_file(PLAN, "f.toml"))
        bench.start()
        seen = []
        for _ in range(40):
            await asyncio.sleep(1)
            seen.append(tuple(sorted(bench.active)))
        return seen

    seen = simulated(play)
    assert seen[28] == ()
    assert seen[31] == ("refused", "silent")
    assert seen[36] == ("refused",)


def test_a_plan_does_not_end_what_was_switched_on_later():
    async def play():
        bench = make_bench("cold-start", None)
        bench.plan([Planned(at_s=1.0, name="silent", for_s=5.0)])
        bench.start()
        await asyncio.sleep(3)
        bench.fault("silent")
        await asyncio.sleep(10)
        return list(bench.active)

    assert simulated(play) == ["silent"]


def test_random_faults_repeat_with_their_seed():
    one, two = random_faults(1, 4.0), random_faults(1, 4.0)
    assert one == two != random_faults(2, 4.0)
    assert 200 < len(one) < 280  # 240 on average in an hour
    assert all(0.1 <= item.for_s <= 20 for item in one)
    assert {item.name for item in random_faults(1, 100.0)} <= set(FAULTS)
    assert random_faults(1, 0.0) == ()


# -- control -----------------------------------------------------------------------


def test_control_lines():
    async def play():
        bench = make_bench("cold-start", None)
        bench.start()

        def ok(line):
            answer = obey(bench, line)
            assert answer == "ok" or answer.startswith("ok "), answer
            return answer

        ok("fault silent on")
        assert "silent (on)" in ok("list")
        ok("fault silent off")
        ok("fault status-text on text='BUS BUSY' chance=0.5")
        assert bench.active["status-text"].text == "BUS BUSY"
        ok("engine off")
        assert not bench.car.engine_running
        ok("engine on")
        ok("ignition off")
        assert not bench.car.ignition
        ok("ignition on")
        assert bench.car.ignition
        ok("selector D")
        ok("speed 3.5")
        assert bench.car.speed_kmh == 3.5
        ok("unplug 2")
        assert not bench.plugged
        assert "code" in ok("about refused")
        assert "fault NAME" in ok("help")
        await asyncio.sleep(2.5)
        assert bench.plugged
        state = json.loads(ok("state").removeprefix("ok "))
        assert state["selector"] == "D"
        assert state["faults"] == ["status-text"]
        assert state["fluid_c"] == pytest.approx(20, abs=0.5)
        ok("")
        for wrong in ("dance", "fault", "fault silent", "fault silent maybe",
                      "fault gremlin on", "fault refused on code", "engine", "speed",
                      "speed fast", "fault refused on code=x", "about", "about x",
                      "fault 'silent on", "unplug soon"):  # fmt: skip
            answer = obey(bench, wrong)
            assert answer.startswith("error: "), wrong
            assert "\n" not in answer
            assert answer.endswith(".")

    simulated(play)


def test_addresses():
    assert address("127.0.0.1:35000") == ("127.0.0.1", 35000)
    assert address("[::1]:0") == ("::1", 0)
    for wrong in ("35000", ":35000", "host:", "host:x", "host:70000", "host:-1"):
        with pytest.raises(UsageError, match="HOST:PORT"):
            address(wrong)
