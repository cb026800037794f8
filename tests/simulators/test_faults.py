"""Every fault does on the wire what its name says, and goes away again."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.values.errors import LinkLost, PortError, UsageError
from simulators.faults.all_faults import FAULTS, LINK_FAULTS, make_fault
from simulators.serve.pipe import BenchPipe
from tests.simulators.talk import Talk, asked, on_bench

TRUE = "7E9046211573CAAAAAA"  # 20 degC


def test_without_a_fault_the_answer_is_the_true_one():
    async def play(_bench, talk):
        return await talk.ask("221157")

    assert on_bench(play) == [TRUE]


def test_refusals():
    assert asked("refused") == ["7E9037F2231AAAAAAAA"]
    assert asked("refused", code=0x22) == ["7E9037F2222AAAAAAAA"]
    assert asked("busy") == ["7E9037F2221AAAAAAAA"]


def test_pending_then_the_answer():
    assert asked("pending") == ["7E9037F2278AAAAAAAA", TRUE]
    assert asked("pending", times=2, delay=1) == ["7E9037F2278AAAAAAAA"] * 2 + [TRUE]


def test_pending_for_ever():
    async def play(bench, talk):
        bench.fault("pending-for-ever")
        return await talk.ask("221157", wait_s=8)

    assert on_bench(play) == ["7E9037F2278AAAAAAAA"]


def test_stale_frames():
    assert asked("stale-frame", "221160", "221157") == [
        "7E90562116001 40AAAA".replace(" ", ""),
        TRUE,
    ]
    (line,) = asked("stale-frame", instead=True)
    assert line[:9] == "7E9046211"
    assert line[9:11] != "57"


def test_foreign_and_second_units():
    assert [line[:3] for line in asked("foreign-frame")] == ["7E8"]
    assert [line[:3] for line in asked("second-unit")] == ["7E9", "7E8"]
    assert [line[:3] for line in asked("second-unit", first=True)] == ["7E8", "7E9"]
    assert asked("foreign-frame")[0][11:13] != "3C"


def test_frames_of_two_long_answers_interleave():
    senders = [line[:3] for line in asked("interleaved", "221170")]
    assert sorted(senders) == ["7E8"] * 3 + ["7E9"] * 3
    assert senders not in (sorted(senders), sorted(senders, reverse=True))


def test_duplicates_losses_and_swaps():
    assert asked("duplicate-frame") == [TRUE, TRUE]
    assert asked("lost-frame") == ["NO DATA"]
    long = asked("short-answer", "ATRV", "221170", only="22AA")
    assert len(long) == 3
    assert len(asked("lost-frame", "221170")) == 2
    assert asked("swapped-frames", "221170") == [long[0], long[2], long[1]]


def test_wrong_lengths():
    assert asked("extra-byte") == ["7E9056211573C2AAAAA"]
    assert asked("short-answer") == ["7E903621157AAAAAAAA"]


def test_late_units_answer_into_the_next_request():
    async def play(bench, talk):
        first = await talk.ask("221157")
        bench.fault("late-unit", only="221157", delay=0.21)
        missed = await talk.ask("221157")
        after = await talk.ask("221160")
        return first, missed, after

    first, missed, after = on_bench(play)
    assert first == [TRUE]
    assert missed == ["NO DATA"]
    assert [line[5:11] for line in after] in (
        ["621157", "621160"],
        ["621160", "621157"],
    )


@pytest.mark.parametrize("seed", range(30))
def test_a_cut_reply_lacks_a_digit_that_counts(seed):
    (line,) = asked("cut-reply", seed=seed)
    assert TRUE.startswith(line)
    assert len(line) < len("7E9046211573C")


def test_half_a_frame_then_silence():
    async def play(bench, talk):
        bench.fault("half-frame", seed=3)
        half = await talk.raw(b"221157\r", 60)
        bench.fault("half-frame", on=False)
        stopped = await talk.raw(b"\x7f\r")
        return half, stopped

    half, stopped = on_bench(play)
    assert TRUE.encode().startswith(half)
    assert b">" not in half
    assert stopped.endswith(b"STOPPED\r\r>")


@pytest.mark.parametrize("name", ["noise", "garbled", "lost-byte"])
@pytest.mark.parametrize("seed", range(20))
def test_spoilt_lines_are_never_the_true_one_and_end_in_a_prompt(name, seed):
    lines = asked(name, seed=seed)
    assert lines != [TRUE]


TEXTS = sorted(
    (kind.name, kind.said) for kind in FAULTS.values()
    if kind.about.startswith("the adapter prints")
)  # fmt: skip


@pytest.mark.parametrize(("name", "text"), TEXTS)
def test_status_texts_stand_alone(name, text):
    assert asked(name) == [text]


def test_all_texts_of_the_notes_are_there():
    wanted = {
        "NO DATA", "STOPPED", "BUFFER FULL", "CAN ERROR", "BUS INIT: ERROR",
        "UNABLE TO CONNECT", "SEARCHING...", "ACT ALERT", "FB ERROR", "DATA ERROR",
        "ERR94", "<RX ERROR", "?", "**CAN ERROR**",
    }  # fmt: skip
    assert wanted <= {text for _name, text in TEXTS}


def test_texts_within_an_answer():
    assert asked("status-text", text="ERR57") == ["ERR57"]
    assert asked("data-error-mark")[0].endswith("<DATA ERROR")
    assert asked("buffer-full-midway")[-1] == "BUFFER FULL"


@pytest.mark.parametrize("name", ["adapter-reset", "banner", "voltage-dip"])
def test_resets_print_the_banner_and_forget(name):
    async def play(bench, talk):
        bench.fault(name)
        said = (await talk.rest()).decode()
        return said, await talk.raw(b"ATI\r")

    said, after = on_bench(play)
    assert "ELM327 v2.1" in said
    assert ("LV RESET" in said) == (name != "banner")
    assert after.startswith(b"ATI\r\n")  # the echo is back


def test_a_quiet_reset_says_nothing():
    async def play(bench, talk):
        bench.fault("quiet-reset")
        return await talk.raw(b"ATI\r")

    assert on_bench(play).startswith(b"ATI\r\n")


def test_voltage_dips_while_the_starter_turns():
    async def play(bench, talk):
        before = await talk.ask("ATRV")
        bench.fault("voltage-dip")
        await talk.rest()
        during = await talk.raw(b"ATRV\r")
        bench.fault("voltage-dip", on=False)
        return before, during, await talk.raw(b"ATRV\r")

    before, during, after = on_bench(play)
    assert before == ["14.1V"]
    assert b"8.6V" in during
    assert b"14.1V" in after


def test_refused_commands():
    assert asked("header-refused", "ATSH7E0") == ["?"]
    assert asked("filter-refused", "ATCRA7E9") == ["?"]
    assert asked("command-refused", "AT ST 19") == ["?"]
    assert asked("count-digit-refused", "2211571") == ["?"]
    assert asked("count-digit-refused", "221157") == [TRUE]


def test_echo_prompt_and_banner_habits():
    async def echo(bench, talk):
        bench.fault("echo-stays")
        await talk.ask("ATE0")
        return await talk.ask("ATRV")

    assert on_bench(echo) == ["ATRV", "14.1V"]
    assert asked("empty-answer", "ATH0", "ATH1") == []
    assert asked("empty-answer", "ATH0", "ATH1", "221157") == [TRUE]

    async def junk(bench, talk):
        bench.fault("junk-before-banner")
        return await talk.raw(b"ATZ\r")

    assert b"\xfc\x00ELM327" in on_bench(junk)


@pytest.mark.parametrize(
    ("name", "command", "least_s"),
    [("late-prompt", b"ATRV\r", 0.4), ("late-prompt-after-ate0", b"ATE0\r", 0.8),
     ("slow-clone", b"ATRV\r", 0.08), ("stall", b"221157\r", 12.0)],
)  # fmt: skip
def test_late_answers(name, command, least_s):
    async def play(bench, talk):
        began_s = bench.now_s()
        bench.fault(name)
        assert (await talk.raw(command, 30)).endswith(b">")
        return bench.now_s() - began_s

    took_s = on_bench(play)
    assert least_s <= took_s < least_s + 0.3


def test_a_latency_tick_holds_bytes_to_its_grid():
    async def play(bench, talk):
        bench.fault("latency-tick")
        stamps = []
        for _ in range(5):
            talk.pipe.write(b"ATRV\r")
            stamps.append((await talk.pipe.read())[1] - bench._epoch_s)
            await talk.rest()
        return stamps

    for stamp_s in on_bench(play):
        sent_s = len("14.1V\r\r>") * 10 / 115200
        assert (stamp_s - sent_s) % 0.016 == pytest.approx(0, abs=1e-6) or (
            (stamp_s - sent_s) % 0.016 == pytest.approx(0.016, abs=1e-6)
        )


def test_silence_and_dribble_end_when_switched_off():
    async def play(bench, talk):
        bench.fault("silent")
        silent = await talk.raw(b"221157\r", 30)
        bench.fault("silent", on=False)
        again = await talk.ask("221157")
        bench.fault("dribble")
        slow = await talk.raw(b"221157\r", 4.2)
        bench.fault("dribble", on=False)
        await talk.rest(1)
        return silent, again, slow, await talk.ask("221157")

    silent, again, slow, last = on_bench(play)
    assert silent == b""
    assert again[0][:11] == TRUE[:11]
    assert 8 <= len(slow) <= 9
    assert b">" not in slow
    assert last[0][:11] == TRUE[:11]


def test_unplugged_and_back():
    async def play(bench, talk):
        bench.fault("unplugged")
        with pytest.raises(LinkLost):
            await talk.pipe.read()
        with pytest.raises(LinkLost):
            talk.pipe.write(b"x")
        with pytest.raises(PortError):
            BenchPipe(bench)
        bench.fault("unplugged", on=False)
        return await (await Talk(bench).ready()).ask("221157")

    assert on_bench(play) == [TRUE]


def test_gearbox_alone_and_29_bit_units():
    assert asked("gearbox-alone", "ATSH7DF", "0100")[0][:3] == "7E9"
    assert len(asked("gearbox-alone", "ATSH7DF", "0100")) == 1
    assert asked("29-bit-units") == ["CAN ERROR"]
    lines = asked("29-bit-units", "ATSP7", "ATSH DA18F1", "221157")
    assert lines == ["18DAF118046211573CAAAAAA"]


def test_a_session_may_be_needed():
    assert asked("session-needed") == ["7E9037F227FAAAAAAAA"]
    assert asked("session-needed", "1003", "221157") == [TRUE]


def test_a_slow_search_and_a_lost_protocol():
    async def play(bench, talk):
        await talk.ask("ATSP0")
        bench.fault("slow-search")
        began_s = bench.now_s()
        await talk.ask("0100", wait_s=20)
        return bench.now_s() - began_s

    assert on_bench(play) > 6
    assert asked("protocol-lost") == [TRUE]  # a fixed protocol is found at once


def test_the_car_can_misbehave_too():
    assert asked("engine-off", "ATSH7E0", "010C") == ["7E804410C0000AAAAAA"]
    assert asked("moving", "ATSH7E0", "010D") == ["7E803410D08AAAAAAAA"]
    assert asked("sensor-dropout") == ["7E904621157FFAAAAAA"]
    assert asked("sensor-stuck", temp=60) == ["7E90462115764AAAAAA"]
    assert asked("ignition-off") == ["CAN ERROR"]
    assert asked("mute-units") == ["NO DATA"]


def test_kwp_without_its_checksum():
    async def play(bench, talk):
        bench.car.protocol = "5"
        for text in ("ATSP5", "ATSH8118F1", "221157"):
            await talk.ask(text)
        whole = (await talk.ask("221157"))[-1]
        bench.fault("no-checksum")
        return whole, (await talk.ask("221157"))[-1]

    whole, cut = on_bench(play)
    assert whole[:-2] == cut == "84F1186211573C"


@pytest.mark.parametrize("name", sorted(FAULTS))
@pytest.mark.few(16)
def test_every_fault_is_described_and_leaves_no_trace(name):
    """On for a while, off again: a program that starts anew reads the truth."""

    async def play(bench, talk):
        bench.fault(name)
        for _ in range(3):
            if bench.plugged:
                await talk.raw(b"221157\r", 2)
        bench.fault(name, on=False)
        talk.pipe.close()
        again = await Talk(bench).ready()
        await again.ask("221157")
        truth = bench.truth()
        return await again.ask("221157"), truth.sensor_c

    assert FAULTS[name].about
    lines, sensor_c = on_bench(play)
    assert lines[0].startswith("7E904621157")
    assert abs(int(lines[0][11:13], 16) - 40 - sensor_c) <= 0.6


def test_bad_faults_are_refused_in_one_sentence():
    for name, options, word in [
        ("nonsense", {}, "nonsense"),
        ("refused", {"colour": 1}, "colour"),
        ("refused", {"code": "many"}, "code"),
        ("stale-frame", {"instead": "perhaps"}, "instead"),
        ("cut-reply", {"only": "xyz"}, "cut-reply"),
    ]:
        with pytest.raises(UsageError, match=word) as caught:
            make_fault(name, **options)
        assert "\n" not in str(caught.value)
    assert len(LINK_FAULTS) == len(set(LINK_FAULTS))


def test_every_fault_stands_in_the_guide():
    guide = (Path(__file__).parents[2] / "docs" / "bench.md").read_text("utf-8")
    for name, kind in FAULTS.items():
        assert f"| `{name}` | {kind.about} |" in guide, name
