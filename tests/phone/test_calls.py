"""What is called out, and the laptop's own voice."""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.level.step.step_values import Bell, Instruction, Phase, Step
from bridge.snapshot import Snapshot
from bridge.values.errors import UsageError
from tests.tui.stage import WARM_UP, crossing
from tui.feeds import speech
from tui.feeds.called_out import SAID_S, Call, Caller, passed
from tui.feeds.speech import Speaker, speech_command

GO = WARM_UP.snapshot(WARM_UP.t_at(45.0))


def open_plug(left_s: float | None, **step: object) -> Snapshot:
    told = Step(phase=Phase.RUNNING_DOWN, instruction=Instruction.WATCH, **step)  # type: ignore[arg-type]
    shuts = crossing(None if left_s is None else left_s / 0.86)  # p05 is left_s
    return replace(GO, step=told, shuts=shuts)


def test_the_seconds_left_are_called_once_each_as_they_pass() -> None:
    caller, said = Caller(), []
    for tenths in range(700, -1, -1):
        call = caller.take(open_plug(tenths / 10))
        if call is not None:
            assert call.bell is None
            said.append(call.text)
    assert said == [f"The window may shut in {s} seconds." for s in SAID_S]


def test_a_jump_over_several_says_the_last_only() -> None:
    assert passed(61.0, 12.0) == 15
    assert passed(12.0, 61.0) is None
    assert passed(30.0, 30.0) is None


def test_what_is_not_known_is_not_counted_down() -> None:
    caller = Caller()
    caller.take(open_plug(40.0))
    assert caller.take(open_plug(None)) is None
    assert caller.take(open_plug(10.0)) is None  # there is no before to compare with
    blind = replace(open_plug(4.0), temp_c=None)
    assert caller.take(blind) is None


def test_before_the_window_its_opening_is_counted() -> None:
    caller = Caller()
    step = Step(phase=Phase.GET_READY, instruction=Instruction.GET_UNDER)
    for left_s in (31.0, 29.0):
        call = caller.take(replace(GO, step=step, opens=crossing(left_s)))
    assert call is not None
    assert call.text == "The window opens in 30 seconds."


@pytest.mark.parametrize("bell", Bell)
def test_each_bell_of_the_step_is_one_call(bell: Bell) -> None:
    caller = Caller()
    rung = open_plug(500.0, rung=bell, rung_at_s=7.0, now_at_s=7.2)
    call = caller.take(rung)
    assert call is not None
    assert (call.bell, call.number) == (bell, 1)
    assert call.text == "Let it run, mark the drips; n: nothing ran out."
    assert caller.take(rung) is None


def test_a_bell_that_rang_long_ago_is_not_called() -> None:
    rung = open_plug(500.0, rung=Bell.CLOSE, rung_at_s=7.0, now_at_s=60.0)
    assert Caller().take(rung) is None


@pytest.mark.parametrize(
    ("platform", "there", "wanted"),
    [
        ("linux", {"spd-say", "espeak-ng"}, ("/x/spd-say", "--wait")),
        ("linux", {"espeak-ng"}, ("/x/espeak-ng",)),
        ("linux", {"say"}, None),
        ("darwin", {"say"}, ("/x/say",)),
        ("win32", set(), None),
    ],
)
def test_the_system_s_own_command_is_found(
    platform: str, there: set[str], wanted: tuple[str, ...] | None
) -> None:
    found = speech_command(platform, lambda n: f"/x/{n}" if n in there else None)
    assert found == wanted


def test_windows_gets_the_sentence_through_the_environment() -> None:
    found = speech_command("win32", lambda n: f"C:/{n}.exe")
    assert found is not None
    assert "$env:SUMPGATE_SAYS" in found[-1]


def test_no_command_is_said_in_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(speech, "speech_command", lambda: None)
    with pytest.raises(UsageError, match="install spd-say or espeak-ng"):
        speech.speaker()


def test_the_command_is_given_each_sentence(tmp_path: Path) -> None:
    heard = tmp_path / "heard"
    write = f"import sys; open({str(heard)!r}, 'a').write(sys.argv[1] + '\\n')"
    voice = Speaker((sys.executable, "-c", write))
    voice.deliver(open_plug(500.0, rung=Bell.OPEN, rung_at_s=7.0, now_at_s=7.0))
    _until(lambda: heard.exists() and heard.read_text())
    assert heard.read_text().startswith("Let it run")
    voice.ended()
    voice._thread.join(5)
    assert not voice._thread.is_alive()


def test_a_command_that_hangs_holds_nothing_up() -> None:
    voice = Speaker((sys.executable, "-c", "import time; time.sleep(60)"))
    for n in range(1000):
        voice.say(Call(number=n, bell=None, text="x"))
    _until(lambda: voice._now is not None)
    running = voice._now
    voice.say(Call(number=1001, bell=Bell.CLOSE, text="close"))  # cuts in
    assert running is not None
    assert running.wait(10) != 0
    voice.ended()
    voice._thread.join(5)
    assert not voice._thread.is_alive()


def test_a_command_that_is_gone_is_no_trouble() -> None:
    voice = Speaker(("/nowhere/speech",))
    voice.say(Call(number=1, bell=Bell.OPEN, text="open"))
    voice.ended()
    voice._thread.join(5)
    assert not voice._thread.is_alive()


def _until(ready: object) -> None:
    end_s = time.monotonic() + 20
    while not ready():  # type: ignore[operator]
        assert time.monotonic() < end_s
        time.sleep(0.01)
