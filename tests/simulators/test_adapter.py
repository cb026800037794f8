"""The adapter's own behaviour: timing, filters, flow control, older buses, abuse."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.values.sheet import Role, Signal
from simulators.adapter.adapter_settings import CLONE, AdapterSettings
from simulators.adapter.uart import Receiver, Sender
from simulators.car.scenes import make_bench
from simulators.faults.all_faults import LINK_FAULTS, make_fault
from tests.everyday import examples
from tests.simulators.rig import Rig, quiet

# -- bytes on the line -----------------------------------------------------------


def test_bytes_take_ten_bit_times_each_way():
    sender = Sender(9600)
    sender.put(b"abc", 1.0)
    byte_s = 10 / 9600
    assert sender.take(1.0 + 0.99 * byte_s) == b""
    assert sender.take(1.0 + 2.01 * byte_s) == b"ab"
    assert sender.burst_s() == pytest.approx(1.0 + 3 * byte_s)
    assert sender.take(sender.burst_s()) == b"c"
    receiver = Receiver(9600)
    receiver.put(b"xy", 5.0)
    assert receiver.next_s() == pytest.approx(5.0 + byte_s)
    assert receiver.end_s() == pytest.approx(5.0 + 2 * byte_s)


@given(
    st.lists(st.tuples(st.binary(max_size=20), st.floats(0, 0.1)), max_size=10),
    st.lists(st.floats(0, 0.2), max_size=20),
)
def test_a_line_loses_nothing_and_is_never_faster_than_its_baud(pieces, looks):
    sender, ready_s = Sender(38400), 0.0
    for data, pause_s in pieces:
        ready_s += pause_s
        sender.put(data, ready_s)
    out = b""
    for now_s in sorted(looks):
        out += sender.take(now_s)
        assert len(out) <= now_s * 3840 + 1e-6
    assert out + sender.take(1e9) == b"".join(data for data, _ in pieces)


@pytest.mark.parametrize("baud", [38400, 115200])
def test_an_exchange_takes_wire_time_plus_the_units_time(baud):
    rig = quiet(settings=AdapterSettings(baud=baud))
    rig.ask("ATS0", "ATH1", "ATSH7E1", "2211571")
    before_s = rig.now_s
    out = rig.raw(b"2211571\r")
    limit_s = (len("2211571\r") + len(out)) * 10 / baud + 0.011
    assert limit_s <= rig.now_s - before_s <= limit_s + 0.0005


# -- time it listens --------------------------------------------------------------


def listening_s(*setup, **options):
    rig = quiet(**options)
    rig.ask("ATSH7E1", *setup, "221157")
    before_s = rig.now_s
    rig.ask("221157")
    return rig.now_s - before_s


def test_adaptive_timing_listens_for_less_and_less():
    fixed, normal, keen = (listening_s(f"ATAT{mode}") for mode in (0, 1, 2))
    assert keen < normal < fixed
    assert fixed > 0.2
    assert listening_s("ATAT1", settings=CLONE) > 0.2


def test_what_was_learnt_is_dropped_after_no_data():
    rig = quiet()
    rig.ask("ATSH7E1", "221157")
    for unit in rig.adapter.units:
        unit.latency_s = 0.15
    assert rig.ask("221157") == ["NO DATA"]
    assert rig.ask("221157")[0].startswith("62 11 57")


def test_a_pending_answer_is_waited_for_unless_counted():
    def pending(*commands, **options):
        rig = quiet(hooks=[make_fault("pending", delay=2.0)], **options)
        return rig.ask("ATSH7E1", *commands)

    assert pending("221157") == ["7F 22 78", "62 11 57 3C"]
    assert pending("2211571") == ["7F 22 78"]
    assert pending("221157", settings=AdapterSettings(waits_for_pending=False)) == [
        "7F 22 78"
    ]


def test_the_count_digit_counts_lines():
    rig = quiet()
    assert rig.ask("01001") == ["41 00 88 1A 00 03"]
    assert len(rig.ask("01002")) == 2
    assert quiet(settings=CLONE).ask("01001") == ["?"]


# -- who is heard ------------------------------------------------------------------


def odd_unit(request_id=0x611, reply_id=0x619) -> Signal:
    return Signal(
        role=Role.FLUID_TEMPERATURE, service=0x22, identifier=0x1234, offset=-40.0,
        request_id=request_id, reply_id=reply_id, data_length=10,
    )  # fmt: skip


@pytest.mark.parametrize("reply_id", [0x619, 0x7A9, 0x7E7, 0x7F0, 0x18DAF218])
def test_reply_ids_just_outside_the_usual_ones_are_not_heard(reply_id):
    memory = quiet().adapter.memory
    assert not memory.accepts(reply_id)
    for usual in (0x7E8, 0x7EF, 0x18DAF100, 0x18DAF1FF):
        assert memory.accepts(usual)


def test_only_the_usual_reply_ids_pass_unless_asked_for():
    rig = quiet(signals=[odd_unit()])
    assert rig.ask("ATSH611", "221234") == ["NO DATA"]
    assert rig.ask("ATCRA619", "221234")[0] == "00D"
    assert rig.ask("ATCRA 7E8", "221234") == ["NO DATA"]
    assert rig.ask("ATCRA 6XX", "221234")[0] == "00D"
    assert rig.ask("ATCRA 618", "221234") == ["NO DATA"]
    assert rig.ask("ATCRA 61X", "221234")[0] == "00D"
    assert rig.ask("ATCRA", "221234") == ["NO DATA"]
    assert rig.ask("ATCF 619", "ATCM 7FF", "221234")[0] == "00D"
    assert rig.ask("ATAR", "ATSH7E0", "0105") == ["41 05 3C"]


def test_long_answers_outside_the_usual_ids_need_flow_control_set_by_hand():
    rig = quiet(signals=[odd_unit()])
    rig.ask("ATSH611", "ATCRA619")
    assert len(rig.ask("221234")) == 2  # length and first line, then nothing
    assert rig.ask("ATFCSM1") == ["?"]
    assert rig.ask("ATFCSH611", "ATFCSD300000", "ATFCSM1") == ["OK"]
    assert len(rig.ask("221234")) == 3
    assert len(rig.ask("ATFCSH7E1", "221234")) == 2
    rig.ask("ATFCSH611", "ATFCSD310000")  # 'wait': the unit does
    assert len(rig.ask("221234")) == 2


def test_flow_control_can_be_left_to_nobody():
    rig = quiet()
    assert len(rig.ask("ATSH7E0", "0902")) == 4
    assert len(rig.ask("ATCFC0", "0902")) == 2


def test_unformatted_frames():
    rig = quiet()
    rig.ask("ATSH7E1", "ATCAF0")
    assert rig.ask("03 22 11 57") == ["04 62 11 57 3C AA AA AA"]
    assert rig.ask("221157") == ["NO DATA"]  # 22 is no PCI byte a unit understands
    assert rig.ask("30 00 00") == ["NO DATA"]


def test_length_digit_and_wide_ids_are_shown():
    rig = quiet()
    assert rig.ask("ATH1", "ATD1", "ATSH7E1", "221157") == [
        "7E9 8 04 62 11 57 3C AA AA AA"
    ]
    rig = Rig(protocol="9")
    rig.ask("ATE0", "ATSP9", "ATH1", "ATS0")
    assert rig.ask("0105") == ["18DAF11003410 53CAAAAAAAA".replace(" ", "")]


# -- protocols ----------------------------------------------------------------------


@pytest.mark.parametrize("protocol", list("6789"))
def test_can_protocols_are_found_and_can_be_fixed(protocol):
    rig = Rig(protocol=protocol)
    rig.ask("ATE0")
    assert rig.ask("0105") == ["SEARCHING...", "41 05 3C"]
    assert rig.ask("ATDPN") == [f"A{protocol}"]
    assert rig.ask(f"ATSP{protocol}", "0105") == ["41 05 3C"]
    other = "8" if protocol == "6" else "6"
    assert rig.ask(f"ATSP{other}", "0105") == ["CAN ERROR"]
    assert rig.ask(f"ATSPA{other}", "0105") == ["SEARCHING...", "41 05 3C"]


@pytest.mark.parametrize(
    ("protocol", "line"),
    [("1", "41 6B 10 41 05 3C"), ("2", "48 6B 10 41 05 3C"), ("3", "48 6B 10 41 05 3C"),
     ("4", "83 F1 10 41 05 3C"), ("5", "83 F1 10 41 05 3C")],
)  # fmt: skip
def test_older_protocols_show_header_and_check_byte(protocol, line):
    rig = Rig(protocol=protocol)
    rig.ask("ATE0", f"ATSP{protocol}", "0100")
    assert rig.ask("0105") == ["41 05 3C"]
    (shown,) = rig.ask("ATH1", "0105")
    assert shown[:-3] == line
    wrong = Rig(protocol="6")
    assert wrong.ask("ATE0", f"ATSP{protocol}", "0105")[-1] in (
        "NO DATA", "BUS INIT: ...ERROR",
    )  # fmt: skip


def test_kwp_reaches_one_unit_by_its_address():
    rig = Rig(protocol="5")
    rig.ask("ATE0", "ATSP5", "ATH1")
    assert rig.ask("ATSH 82 18 F1", "2130")[-1].startswith("86 F1 18 61 30")
    assert rig.ask("ATSH 82 55 F1", "2130") == ["NO DATA"]


def test_the_car_switched_off():
    assert Rig(ignition=False).ask("ATE0", "0100") == [
        "SEARCHING...",
        "UNABLE TO CONNECT",
    ]
    rig = quiet()
    rig.ask("0105")
    rig.car.ignition = False
    assert rig.ask("0105") == ["CAN ERROR"]
    assert rig.ask("ATIGN") == ["OFF"]
    assert rig.ask("ATRV") == ["12.4V"]


def test_j1939_fluid_temperature():
    """40 degC is raw 10016, bytes `20 27` in place 5 and 6 (check-values 2.5)."""
    rig = Rig(protocol="A", sensor_fixed_c=40.0)
    rig.ask("ATE0", "ATSPA")
    assert rig.ask("00FEF8") == ["FF FF FF FF 20 27 FF FF"]
    assert rig.ask("FEF8") == ["FF FF FF FF 20 27 FF FF"]
    assert rig.ask("ATH1", "FEF8") == ["6 0FEF8 03 FF FF FF FF 20 27 FF FF"]
    assert rig.ask("ATJHF0", "FEF8") == ["18 FE F8 03 FF FF FF FF 20 27 FF FF"]
    assert rig.ask("FEDF") == ["NO DATA"]
    assert rig.ask("ATMP FEF8 3") == ["18 FE F8 03 FF FF FF FF 20 27 FF FF"] * 3
    rig.car.sensor_broken = True
    assert rig.ask("ATH0", "FEF8") == ["FF FF FF FF FF FF FF FF"]
    assert Rig(protocol="A").ask("ATE0", "0100") == [
        "SEARCHING...",
        "UNABLE TO CONNECT",
    ]


# -- habits -------------------------------------------------------------------------


def test_a_clone_says_so_and_knows_less():
    rig = Rig(settings=CLONE)
    assert rig.ask("ATE0", "ATI") == ["ELM327 v1.5"]
    assert rig.ask("ATCRA7E9") == ["?"]
    assert rig.ask("ATSH18DA10F1") == ["?"]


def test_defaults_and_warm_start():
    rig = quiet()
    rig.ask("ATH1", "ATS0", "ATSH7E1", "ATD")
    assert rig.ask("0105")[0] == "0105"  # the echo is back
    assert rig.raw(b"ATWS\r").endswith(b"ELM327 v2.1\r\n\r\n>")
    assert rig.ask("ATE0", "ATDPN") == ["0"]


def test_characters_during_a_reset_are_lost():
    rig = Rig()
    out = rig.raw(b"ATZ\rATRV\r")
    assert b"14.1V" not in out
    assert rig.ask("ATE0", "ATRV") == ["14.1V"]


def test_what_is_typed_between_stopped_and_its_prompt_is_lost():
    rig = quiet()
    rig.adapter.receive(b"0105\r", rig.now_s)
    rig.now_s += 0.005
    said = rig.raw(b"ATRV\r")
    assert said == b"STOPPED\r\r>"
    assert rig.wait() == b""
    assert rig.ask("ATRV") == ["14.1V"]


def test_a_character_after_the_prompt_is_due_stops_nothing():
    """The adapter is done, its prompt still on the way out: the next line is heard."""
    rig = quiet(settings=AdapterSettings(baud=9600))
    rig.ask("ATSH7E1", "221157")
    rig.adapter.receive(b"2211571\r", rig.now_s)
    # In after 8.3 ms, answered 11.25 ms later; the next byte is in at 20.0 ms.
    rig.now_s += 0.0190
    rig.adapter.receive(b"ATRV\r", rig.now_s)
    said = rig.wait(patience_s=1) + rig.wait(patience_s=1)
    assert b"STOPPED" not in said
    assert b"14.1V" in said


def test_typing_aids():
    rig = quiet()
    assert rig.raw(b"ATR\x00V\r").startswith(b"14.1V")
    assert rig.raw(b"ATRX\x08V\r").startswith(b"14.1V")
    assert rig.raw(b"\r").startswith(b"14.1V")
    assert rig.raw(b"A" * 1000 + b"\r") == b"?\r\r>"


def test_requests_that_cannot_be_sent():
    rig = quiet()
    for text in ("01 05 0C 0D 0F 1F 42 46", "0", "ATSP", "XYZ"):
        assert rig.ask(text) == ["?"]


# -- abuse ---------------------------------------------------------------------------

nasty = st.one_of(
    st.binary(max_size=40),
    st.sampled_from(
        [b"ATZ\r", b"0100\r", b"221157\r", b"2211571\r", b"0902\r", b"\r", b"ATSP0\r",
         b"ATH1\r", b"ATCAF0\r", b"ATS0\r", b"ATSP5\r", b"ATSPA\r", b"FEF8\r",
         b"ATMPFEF8\r", b"ATFCSD30\r", b"ATCRA\r", b"ATCMFFF\r", b"ATSH7E1\r", b"F\r"]
    ),
)  # fmt: skip


@examples(150)
@given(
    st.lists(st.tuples(nasty, st.floats(-0.01, 3.0)), max_size=25),
    st.lists(st.sampled_from(sorted(LINK_FAULTS)), max_size=3, unique=True),
    st.sampled_from([AdapterSettings(), CLONE, AdapterSettings(baud=9600)]),
    st.integers(0, 99),
)
def test_no_bytes_at_any_time_break_it(script, names, make, seed):
    """Afterwards, faults off and a second's rest, it still answers."""
    bench = make_bench("cold-start", None, settings=make, seed=seed)
    for name in names:
        if name != "unplugged":  # there is no connection here to break
            bench.fault(name)
    now_s = 0.0
    for data, pause_s in script:
        now_s += pause_s
        bench.adapter.receive(data, now_s)
        bench.adapter.take(now_s)
        wake_s = bench.adapter.wake_s()
        assert wake_s is None or wake_s > -1
    for name in names:
        bench.fault(name, on=False)
    now_s += 100.0
    bench.adapter.take(now_s)
    for text in (b"\x7f\r", b"ATZ\r"):
        bench.adapter.receive(text, now_s)
        now_s += 10.0
        said = bench.adapter.take(now_s)
    assert b"ELM327" in said
    assert said.endswith(b">")
