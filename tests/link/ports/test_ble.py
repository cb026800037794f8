"""BLE from the scan to the readings, without a radio: gatt.py beside this stands in.

Service layouts and manners as seen in public threads on adapters; sizes and properties
by the Bluetooth Core specification (vol. 3 parts F and G), as cited where used.
"""

from __future__ import annotations

import asyncio
import math
import sys
from collections.abc import Callable, Coroutine
from typing import Any

import pytest

from bridge.link.ports.ble.ble_port import BleDoor, chunks
from bridge.link.ports.ble.serial_service import ways
from bridge.link.ports.opening import make_opener
from bridge.link.ports.port import GuardedPort
from bridge.link.ports.progress import telling
from bridge.monitor import Monitor
from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.errors import ForbiddenRequest, LinkLost, PortError
from bridge.values.readings import LinkState
from simulators.car.scenes import make_bench
from simulators.serve.paced_loop import PacedLoop
from tests.link.ports.gatt import (
    COMMON,
    LAYOUTS,
    C,
    Device,
    Layout,
    N,
    Radio,
    W,
    _services,
)

SHEET = load("scar-eight-speed")


def device(**options: Any) -> Device:
    return Device(bench=make_bench("warm-day", SHEET), **options)


def simulated(main: Coroutine[Any, Any, None]) -> None:
    loop = PacedLoop(math.inf)
    try:
        loop.run_until_complete(asyncio.wait_for(main, 600.0))
        left = [t for t in asyncio.all_tasks(loop) if not t.done()]
        assert not left
    finally:
        loop.close()


def watched(
    radio: Radio,
    name: str = "ble://OBDBLE",
    *,
    for_s: float = 12.0,
    at: dict[float, Callable[[], None]] | None = None,
) -> list[Snapshot]:
    """Run the monitor over the radio in simulated time."""
    seen: list[Snapshot] = []

    async def main() -> None:
        loop = asyncio.get_running_loop()
        for moment, action in (at or {}).items():
            loop.call_later(moment, action)
        monitor = Monitor(
            sheet=SHEET, open_port=make_opener(name, 38_400), deliver=seen.append
        )
        await monitor.run(for_s=for_s)
        await asyncio.sleep(1.0)  # hanging up
        for each in radio.devices:
            each.bench.close()

    with radio.on():
        simulated(main())
    return seen


@pytest.mark.parametrize("mtu", [23, 247])
@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.few(4)
def test_every_layout_is_read_from_scan_to_temperature(layout: str, mtu: int) -> None:
    own = device(layout=LAYOUTS[layout], mtu=mtu)
    seen = watched(Radio(own))
    last = seen[-1]
    truth = own.bench.car.log[-1].fluid_c
    assert last.link is LinkState.LIVE
    assert last.temp_c is not None
    assert abs(last.temp_c - truth) < 1.5
    assert own.held is None, "it was not let go of in the end"
    assert own.pairings == 0
    assert all(len(data) <= mtu - 3 for _, data, _ in own.written)


@pytest.mark.parametrize("manner", ["error", "silence"])
@pytest.mark.few(1)
def test_refused_without_response_goes_with_response(manner: str) -> None:
    own = device(layout=LAYOUTS["FFE0, one, both writes"], refuses_commands=manner)
    assert watched(Radio(own))[-1].link is LinkState.LIVE
    assert [r for _, _, r in own.written[-20:]] == [True] * 20


def test_refused_later_goes_with_response_too() -> None:
    own = device(layout=LAYOUTS["FFE0, one, both writes"])

    def turn() -> None:
        own.refuses_commands = "error"

    seen = watched(Radio(own), at={6.0: turn})
    assert seen[-1].link is LinkState.LIVE
    assert own.written[-1][2] is True


@pytest.mark.slow
def test_slow_notifications_are_waited_for() -> None:
    seen = watched(Radio(device(lag_s=0.2)), for_s=25.0)
    assert sum(s.temp_c is not None for s in seen[-40:]) > 30
    slower = watched(Radio(device(lag_s=0.45)), for_s=40.0)
    assert slower[-1].link is LinkState.LIVE
    assert any(s.temp_c is not None for s in slower)
    assert all(s.temp_c is None for s in slower if (s.age_s or 0.0) > 3.0)


def test_a_lost_connection_is_told_at_once_and_comes_back() -> None:
    own = device()
    seen = watched(Radio(own), for_s=30.0, at={12.0: own.break_off})
    states = [s.link for s in seen]
    assert LinkState.LOST in states
    lost = next(s for s in seen if s.link is LinkState.LOST)
    assert 12.0 <= lost.t_s - seen[0].t_s + 0.3 < 13.0
    assert seen[-1].link is LinkState.LIVE


@pytest.mark.parametrize("at_s", [2.2, 2.45, 2.6])
@pytest.mark.few(1)
def test_a_first_connection_that_breaks_off_is_made_again(at_s: float) -> None:
    own = device(layout=LAYOUTS["FFF0, two"])
    seen = watched(Radio(own), for_s=25.0, at={at_s: own.break_off})
    assert seen[-1].link is LinkState.LIVE


def test_after_a_break_only_the_same_device_will_do() -> None:
    """A namesake may be the adapter in the next car."""
    first = device()
    other = device(address="02:00:00:00:00:02", on_air=False)

    def swap() -> None:
        first.on_air, other.on_air = False, True
        first.break_off()

    seen = watched(Radio(first, other), for_s=60.0, at={12.0: swap})
    assert other.written == []
    assert seen[-1].temp_c is None
    assert seen[-1].link is LinkState.LOST


def opened(radio: Radio, wanted: str) -> str:
    """Return the sentence with which opening fails, '' if it does not."""
    told: list[str] = []

    async def main() -> None:
        try:
            port = await BleDoor(wanted).open()
        except PortError as problem:
            told.append(str(problem))
        else:
            told.append("")
            port.close()
            await asyncio.sleep(1.0)
        for each in radio.devices:
            each.bench.close()

    with radio.on():
        simulated(main())
    return told[0]


@pytest.mark.parametrize(
    "wanted", ["OBDBLE", "obdble", "02:00:00:00:00:01", "02-00-00-00-00-01"]
)
def test_name_or_address_in_any_spelling(wanted: str) -> None:
    assert opened(Radio(device()), wanted) == ""


def test_a_name_with_a_blank_may_be_percent_encoded() -> None:
    assert opened(Radio(device(name="OBD BLE")), "OBD%20BLE") == ""
    assert opened(Radio(device(name="OBD BLE")), "OBD BLE") == ""


def test_two_of_one_name_are_not_guessed_between() -> None:
    radio = Radio(device(), device(address="02:00:00:00:00:02"))
    sentence = opened(radio, "OBDBLE")
    assert "2 BLE devices call themselves 'OBDBLE'" in sentence
    assert "ble://02:00:00:00:00:01" in sentence
    assert "ble://02:00:00:00:00:02" in sentence
    radio = Radio(device(), device(address="02:00:00:00:00:02"))
    assert opened(radio, "02:00:00:00:00:02") == ""


@pytest.mark.parametrize(
    ("options", "wanted", "says"),
    [
        ({}, "Nobody", "no BLE device 'Nobody' was heard"),
        ({}, "Nobody", "OBDBLE"),
        ({"on_air": False}, "OBDBLE", "no other with a name"),
        ({"wants_pairing": True}, "OBDBLE", "wants to be paired"),
        (
            {"layout": Layout(services=COMMON, out="2a05", into="2b29")},
            "OBDBLE",
            "nothing like a serial line",
        ),
    ],
)
def test_each_way_of_not_opening_has_its_sentence(options, wanted, says) -> None:
    own = device(**options)
    sentence = opened(Radio(own), wanted)
    assert says in sentence
    assert "\n" not in sentence
    assert own.held is None


def test_a_radio_that_is_off_or_missing_is_one_sentence() -> None:
    from bleak.exc import (
        BleakBluetoothNotAvailableError,
        BleakBluetoothNotAvailableReason,
        BleakError,
    )

    off = BleakBluetoothNotAvailableError(
        "Bluetooth device is turned off", BleakBluetoothNotAvailableReason.POWERED_OFF
    )
    for problem in (off, BleakError("org.bluez missing"), FileNotFoundError(2, "no")):
        radio = Radio(device())
        radio.problem = problem
        assert "Bluetooth cannot be used" in opened(radio, "OBDBLE")


def test_a_device_the_system_still_holds_is_found_all_the_same() -> None:
    """After a crash the system keeps the connection, and the device is not heard."""
    own = device()
    radio = Radio(own)

    async def main() -> None:
        await BleDoor("OBDBLE").open()  # and never closed
        scans = radio.scans
        with pytest.raises(PortError, match="does not connect"):
            await BleDoor("OBDBLE").open()  # held by another program: said
        assert radio.scans == scans
        for task in asyncio.all_tasks():
            if "_serve" in repr(task.get_coro()):
                task.cancel()
        await asyncio.sleep(1.0)
        own.bench.close()

    with radio.on():
        simulated(main())
    assert own.held is None, "cancelling the loop's tasks must hang up"


@pytest.mark.parametrize("closed", [True, False])
def test_the_device_is_let_go_of_when_the_program_ends_at_once(closed: bool) -> None:
    """Left connected, it would be heard by nobody until it is unplugged."""
    own = device()

    async def main() -> None:
        port = await BleDoor("OBDBLE").open()
        if closed:
            port.close()

    factory = lambda: PacedLoop(math.inf)  # noqa: E731
    with Radio(own).on(), asyncio.Runner(loop_factory=factory) as runner:
        runner.run(main())
        own.bench.close()
    assert own.held is None


def test_the_scan_tells_how_it_goes() -> None:
    told: list[str] = []
    with telling(told.append):
        opened(Radio(device(name="Other")), "OBDBLE")
    assert sum("listening for BLE devices: 1 heard" in t for t in told) >= 8


def test_without_bleak_one_sentence_says_how_to_get_it(monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "bleak", None)
    with pytest.raises(PortError, match=r"sumpgate\[ble\]"):
        make_opener("ble://OBDBLE", 38_400)
    with pytest.raises(PortError, match="names nobody"):
        make_opener("ble://", 38_400)


def test_only_lines_of_the_list_are_written() -> None:
    own = device()

    async def main() -> None:
        port = await BleDoor("OBDBLE").open()
        with pytest.raises(ForbiddenRequest):
            GuardedPort(port).write_line("14FFFFFF")
        port.close()
        with pytest.raises(LinkLost):
            port.write(b"ATI\r")
        with pytest.raises(LinkLost):
            await port.read()
        await asyncio.sleep(1.0)
        own.bench.close()

    with Radio(own).on():
        simulated(main())
    assert not any(b"14" in data for _, data, _ in own.written)


def test_nothing_is_written_where_firmware_goes() -> None:
    """Services for new firmware look like serial lines too."""
    firmware = "00010203-0405-0607-0809-0a0b0c0d1912"
    chars = ((firmware.replace("1912", "2b12"), (N, C, W)),)
    own = device(
        layout=Layout(
            services=(*COMMON, (firmware, chars), ("ffe0", (("ffe1", (N, C)),))),
            out="ffe1",
            into="ffe1",
        )
    )
    assert watched(Radio(own))[-1].link is LinkState.LIVE
    assert {uuid[4:8] for uuid, _, _ in own.written} == {"ffe1"}


def test_ways_are_tried_likeliest_first() -> None:
    layout = LAYOUTS["a second service that leads nowhere"]
    found = ways(_services(device(layout=layout)))
    shown = [(w.listen.uuid[4:8], w.write.uuid[4:8], w.response) for w in found]
    assert shown[:2] == [("fff1", "fff2", False), ("fff1", "fff2", True)]
    assert ("ffe1", "ffe1", False) in shown


@pytest.mark.parametrize("size", [20, 244, 512])
def test_chunks_lose_nothing(size: int) -> None:
    data = bytes(range(256)) * 3
    pieces = list(chunks(data, size))
    assert b"".join(pieces) == data
    assert max(map(len, pieces)) <= size
