"""The check of an adapter, on benches with and without faults, and its verdicts."""

from __future__ import annotations

import asyncio
import json
import math

import pytest

from bridge.link.examine import examine
from bridge.link.health import (
    WIDEST_GAP_S,
    Fitness,
    Health,
    Traffic,
    Trouble,
    judge,
)
from bridge.link.ports.baud import BaudSearch
from bridge.link.ports.port import Port
from bridge.values.causes import Cause
from bridge.values.sheet import Role, Sheet
from simulators.adapter.adapter_settings import CLONE, AdapterSettings
from simulators.adapter.hooks import Hooks
from simulators.car.scenes import make_bench
from simulators.characters.all_characters import CHARACTERS
from simulators.faults.all_faults import LINK_FAULTS
from simulators.serve.bench import Bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tests.link.character_rig import sheet_for
from tests.link.ports.test_baud import OneSpeed
from tests.simulators.served import Served
from tui.cli.adapter_verb import as_dict, copy_note, report, sentence
from tui.cli.flags.reach import Reach
from tui.cli.main import main

REACH = Reach(port="/dev/ttyUSB0", description="USB UART, A Maker")


def check(
    bench: Bench | None = None,
    *,
    faults: dict[str, dict[str, object]] | None = None,
    at: dict[float, str] | None = None,
    seconds: float = 5.0,
    protocol: str = "auto",
    port_of: type[BenchPipe] = BenchPipe,
    search: BaudSearch | None = None,
    sheet: Sheet | None = None,
) -> tuple[Health, list[str]]:
    """Examine a bench in simulated time; return what was found and what was said."""
    bench = bench or make_bench("warm-day", None)
    said: list[str] = []

    async def run() -> Health:
        for name, options in (faults or {}).items():
            bench.fault(name, **options)
        for moment, name in (at or {}).items():
            bench.at(moment, lambda name=name: bench.fault(name))
        port: Port = port_of(bench)
        try:
            return await examine(
                port,
                protocol=protocol,
                seconds=seconds,
                search=search,
                say=said.append,
                sheet=sheet,
            )
        finally:
            bench.close()

    with asyncio.Runner(loop_factory=lambda: PacedLoop(math.inf)) as runner:
        return runner.run(run()), said


def lines(health: Health) -> list[str]:
    made = list(report(health, REACH))
    assert json.dumps(as_dict(health, REACH), allow_nan=False)
    assert sum(line.startswith(("Fit", "Not")) for line in made) == 1
    assert made[-1] == sentence(health)
    return made


def line_of(health: Health, name: str) -> str:
    return next(line for line in lines(health) if line.startswith(name))


def test_a_good_adapter_is_fit_and_everything_is_listed() -> None:
    bench = make_bench("warm-day", None)
    bench.car.stored = ("P0711",)
    health, said = check(bench)
    assert judge(health) == (Fitness.FIT, "")
    made = lines(health)
    assert made[0] == "Port            /dev/ttyUSB0 (USB UART, A Maker)"
    assert "ELM327 v2.1, OBDII to RS232 Interpreter" in made[1]
    assert "14.1 V at the adapter, 14.1 V at the engine unit" in line_of(
        health, "Voltage"
    )
    assert "CAN (ISO 15765-4), 11-bit ids, 500" in line_of(health, "Protocol")
    assert "7E8 (engine): PIDs 01 05 0C 0D 0F 1F 42 46" in "\n".join(made)
    assert "7E9: PIDs 01" in "\n".join(made)
    assert "nothing found missing" in line_of(health, "Cannot")
    assert "stored P0711" in line_of(health, "Trouble codes")
    assert "lamp on" in line_of(health, "Trouble codes")
    assert made[-1] == "Fit for a level check."
    assert "measuring" in said[-1]


def test_the_figures_are_those_of_the_bench() -> None:
    latency_s = 0.05
    health, _ = check(make_bench("warm-day", None, latency_s=latency_s), seconds=20.0)
    traffic = health.traffic
    assert traffic is not None
    median_s = traffic.round_trip_s(0.5)
    assert median_s is not None
    # The unit's own time, and at most 30 characters at 115200 bits a second.
    assert latency_s < median_s < latency_s + 0.01
    assert traffic.answered == traffic.asked
    assert traffic.seconds == pytest.approx(20.0, abs=0.5)
    assert traffic.readings == pytest.approx(
        traffic.per_second * traffic.seconds, abs=1
    )
    # Four questions a round of 50 ms each, and two changes of header.
    assert 3.0 < traffic.per_second < 5.0
    assert traffic.longest_gap_s < 0.35


def test_the_check_only_reads() -> None:
    written: list[str] = []

    class Noted(BenchPipe):
        def write(self, data: bytes) -> None:
            written.append(data.decode().rstrip("\r"))
            super().write(data)

    check(port_of=Noted, seconds=2.0)
    requests = {w for w in written if not w.startswith("AT") and w != "!"}
    assert {r[:2] for r in requests} == {"01", "03", "07", "0A"}
    assert not any(r.startswith("09") for r in requests)  # the number is not asked


def test_without_the_engines_unit_it_is_fit_only_with_ones_own_eyes() -> None:
    bench = make_bench("warm-day", None)
    bench.add("no-engine", CHARACTERS["no-engine"]())
    health, _ = check(bench)
    assert health.engine is None
    assert set(health.untold) == {Role.ENGINE_SPEED, Role.VEHICLE_SPEED}
    assert not any("(engine)" in line for line in lines(health))
    assert "your own eyes" in sentence(health)
    assert as_dict(health, REACH)["cause"] == "engine-untold"


@pytest.mark.parametrize(
    ("kind", "cause"),
    [
        (CHARACTERS["conditions-not-correct"], Cause.CONDITIONS),
        (CHARACTERS["gearbox-silent"], Cause.UNIT_SILENT),
        (CHARACTERS["no-atsh"], Cause.HEADER_REFUSED),
        (CHARACTERS["no-requests"], Cause.REQUESTS_REFUSED),
        (CHARACTERS["modem"], Cause.MODEM),
        (CHARACTERS["loop-back"], Cause.ONLY_ECHO),
        (CHARACTERS["half-byte"], Cause.CHARACTERS_LOST),
        (CHARACTERS["restarts"], Cause.ADAPTER_RESTARTED),
    ],
)
@pytest.mark.few(2)
def test_fit_means_that_with_this_sheet_go_could_come(kind, cause: Cause) -> None:
    sheet = sheet_for("CAN 11/500")
    bench = make_bench("warm-day", sheet)
    bench.add(kind.name, kind())
    health, _ = check(bench, sheet=sheet, seconds=2.0)
    fitness, why = judge(health)
    assert fitness is Fitness.UNFIT
    assert isinstance(why, Trouble)
    assert why.cause is cause
    assert as_dict(health, REACH)["cause"] == cause.value


def test_ignition_off_shows_the_adapter_and_no_verdict() -> None:
    health, _ = check(faults={"ignition-off": {}})
    assert judge(health)[0] is Fitness.UNKNOWN
    made = lines(health)
    assert made[-1].startswith("Not known: the adapter finds no bus")
    assert "switch the ignition on" in made[-1]
    assert as_dict(health, REACH)["cause"] == "no-bus"
    assert "12.4 V at the adapter" in line_of(health, "Voltage")
    assert "UNABLE TO CONNECT" in line_of(health, "Control units")
    assert not any(line.startswith("Readings") for line in made)
    assert as_dict(health, REACH)["verdict"] == "unknown"


@pytest.mark.parametrize("protocol", ["1", "2", "3", "4", "5", "6", "7", "8", "9"])
@pytest.mark.few(2)
def test_every_protocol_is_measured(protocol: str) -> None:
    bench = make_bench("warm-day", None)
    bench.car.protocol = protocol
    if protocol in "79":
        bench = make_bench("warm-day", _wide_sheet(protocol))
    health, _ = check(bench)
    assert health.protocol == protocol
    assert health.traffic is not None
    assert health.traffic.readings > 0
    assert health.traffic.changed == 0
    assert health.units
    lines(health)


def _wide_sheet(protocol: str):
    from dataclasses import replace

    from bridge.sheets import load

    sheet = load("scar-eight-speed")
    signals = tuple(
        replace(s, request_id=0x18DA18F1, reply_id=0x18DAF118)
        if s.request_id is not None
        else s
        for s in sheet.signals
    )
    return replace(sheet, protocol=protocol, signals=signals)


def test_a_fixed_protocol_that_is_not_the_cars() -> None:
    health, _ = check(protocol="8")
    assert judge(health)[0] is Fitness.UNKNOWN
    assert not health.units


def test_a_clone_is_named_and_may_be_fit() -> None:
    health, _ = check(make_bench("warm-day", None, settings=CLONE), seconds=10.0)
    made = "\n".join(lines(health))
    assert "v1.5" in copy_note(health)
    assert "never released" in made
    assert "how many answers to wait for" in line_of(health, "Cannot")
    assert "unusual unit ids" in line_of(health, "Cannot")
    assert health.count_digit is False
    assert judge(health)[0] is Fitness.FIT


@pytest.mark.parametrize(
    ("text", "copy"),
    [
        ("ELM327 v1.5", True),
        ("ELM327 v1.4a", True),
        ("elm327 V1.5", True),
        ("ELM327 v1.4", False),
        ("ELM327 v1.4b", False),
        ("ELM327 v2.1", False),
        ("", False),
    ],
)
def test_versions_that_never_were(text: str, copy: bool) -> None:
    assert bool(copy_note(Health(chip=text))) is copy


def test_a_silent_adapter_is_unfit() -> None:
    health, _ = check(faults={"silent": {}})
    assert judge(health) == (Fitness.UNFIT, Trouble(Cause.ADAPTER_SILENT))
    assert "the adapter does not answer" in lines(health)[-1]


def test_an_adapter_that_falls_silent_midway_is_unfit() -> None:
    health, _ = check(at={4.0: "silent"}, seconds=10.0)
    assert judge(health)[0] is Fitness.UNFIT
    assert health.traffic is not None
    assert health.traffic.readings > 0
    assert health.traffic.longest_gap_s > WIDEST_GAP_S


def test_an_adapter_unplugged_midway_is_unfit() -> None:
    health, _ = check(at={2.0: "unplugged"}, seconds=10.0)
    fitness, why = judge(health)
    assert fitness is Fitness.UNFIT
    assert isinstance(why, Trouble)
    assert why.cause is Cause.PORT_GONE


def test_what_is_no_adapter_is_unfit() -> None:
    health, _ = check(faults={"command-refused": {"command": "AT"}})
    assert judge(health) == (Fitness.UNFIT, Trouble(Cause.NOT_AN_ADAPTER))
    assert "not an ELM327-class adapter" in sentence(health)


def test_an_adapter_that_keeps_the_old_header_is_found_out() -> None:
    """It says OK to AT SH and goes on asking the unit before (link-notes' worst)."""

    class Keeps(Hooks):
        def typed(self, line: str) -> str | None:
            return "OK" if line.startswith("ATSH") else None

    bench = make_bench("warm-day", None)
    bench.adapter.hooks.append(Keeps())
    health, _ = check(bench)
    assert health.strays is True
    fitness, why = judge(health)
    assert fitness is Fitness.UNFIT
    assert "another control unit" in why


def test_an_adapter_that_refuses_the_header_brings_no_reading() -> None:
    health, _ = check(faults={"header-refused": {}})
    assert judge(health)[0] is Fitness.UNFIT


@pytest.mark.parametrize("fault", LINK_FAULTS)
@pytest.mark.few(6)
def test_no_fault_ends_the_check_or_passes_for_an_answer(fault: str) -> None:
    health, _ = check(at={1.2: fault}, seconds=4.0)
    lines(health)
    if health.traffic is not None:
        assert health.traffic.changed == 0


@pytest.mark.parametrize("fault", ["cut-reply", "foreign-frame", "stale-frame"])
@pytest.mark.few(1)
def test_garbled_answers_are_noticed_and_make_it_unfit(fault: str) -> None:
    health, _ = check(at={1.5: fault}, seconds=10.0)
    assert judge(health)[0] is Fitness.UNFIT
    assert health.traffic is not None
    assert health.traffic.changed == 0  # none of them passed for an answer
    assert health.traffic.useless > 0


def test_a_slow_bus_adapter_is_still_measured() -> None:
    slow = AdapterSettings(count_digit=False, adaptive=False)
    health, _ = check(make_bench("warm-day", None, settings=slow, baud=9600))
    assert health.traffic is not None
    assert judge(health)[0] is Fitness.FIT
    assert health.traffic.per_second < 4.0


def test_the_speed_is_found_and_told() -> None:
    class At9600(OneSpeed):
        def __init__(self, bench: Bench) -> None:
            super().__init__(bench, 9600)

    search = BaudSearch()
    health, said = check(port_of=At9600, search=search)
    assert health.speed == 9600
    assert lines(health)[0].endswith("at 9600 baud")
    assert said[:3] == ["trying 38400 baud", "trying 115200 baud", "trying 9600 baud"]


# The verdict by itself


def good_traffic(**changes: object) -> Traffic:
    base = {"seconds": 10.0, "readings": 100, "asked": 400, "answered": 400}
    return Traffic(**{**base, "longest_gap_s": 0.2, **changes})


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"readings": 0}, "no reading"),
        ({"changed": 1}, "false"),
        (
            {"useless": 21, "complaint": Trouble(Cause.CUT_SHORT, "cut short")},
            "cut short",
        ),
        ({"silent": 2}, "silent"),
        ({"longest_gap_s": WIDEST_GAP_S + 0.1}, "too old"),
    ],
)
def test_what_makes_an_adapter_unfit(changes: dict, word: str) -> None:
    health = Health(units={0x7E8: frozenset({1})}, traffic=good_traffic(**changes))
    assert judge(health)[0] is Fitness.UNFIT
    assert sentence(health).startswith("Not fit for a level check: ")
    assert word in sentence(health)


@pytest.mark.parametrize(
    "changes", [{}, {"useless": 20}, {"silent": 1}, {"longest_gap_s": WIDEST_GAP_S}]
)
def test_what_an_adapter_may_do_and_be_fit(changes: dict) -> None:
    health = Health(units={0x7E8: frozenset({1})}, traffic=good_traffic(**changes))
    assert judge(health) == (Fitness.FIT, "")


def test_round_trips_are_ranked() -> None:
    traffic = Traffic(round_trips_s=[n / 100 for n in range(100, 0, -1)])
    assert traffic.round_trip_s(0.5) == 0.5
    assert traffic.round_trip_s(0.95) == 0.95
    assert traffic.round_trip_s(1.0) == 1.0
    assert Traffic().round_trip_s(0.5) is None
    assert Traffic().per_second == 0.0


# The verb


@pytest.mark.slow
def test_the_verb_over_tcp(capsys) -> None:
    with Served(tcp="127.0.0.1:0") as served:
        where = served.where("tcp")
        code = main(["adapter", "--port", where, "--seconds", "1", "--json"])
    told = capsys.readouterr()
    found = json.loads(told.out)
    assert found["port"] == where
    assert found["protocol"] == "6"
    assert set(found["units"]) == {"7E8", "7E9"}
    assert found["traffic"]["answered"] > 0
    assert (code == 0) == (found["verdict"] == "fit")
    assert "measuring" in told.err


def test_the_verb_ends_with_the_verdict_and_3_when_unknown(capsys) -> None:
    with Served(tcp="127.0.0.1:0") as served:
        served.do(lambda: served.bench.fault("ignition-off"))
        code = main(["adapter", "--port", served.where("tcp"), "--seconds", "1"])
    told = capsys.readouterr()
    assert code == 3
    assert "switch the ignition on" in told.out.splitlines()[-1]


@pytest.mark.parametrize(
    ("flags", "code", "word"),
    [
        (["--port", "/dev/rfcomm77"], 3, "bind"),
        (["--port", "/dev/no-such-port"], 3, "no such port"),
        (["--port", "socket://127.0.0.1:1"], 3, "nothing listens"),
        (["--wire-log", "/no/such/folder/x.log", "--port", "/dev/x"], 2, "wire log"),
    ],
)
def test_what_cannot_be_opened_is_one_sentence(flags, code, word, capsys) -> None:
    assert main(["adapter", *flags]) == code
    told = capsys.readouterr()
    assert told.out == ""
    assert word in told.err.splitlines()[-1]
    assert "Traceback" not in told.err


@pytest.mark.parametrize(
    "flags", [["--protocol", "Z"], ["--seconds", "0"], ["--baud", "x"]]
)
def test_flags_that_make_no_sense(flags, capsys) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["adapter", *flags])
    assert caught.value.code == 2
    assert capsys.readouterr().err.count("\n") == 1
