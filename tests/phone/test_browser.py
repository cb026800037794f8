"""The page in a real browser: Debian's Chromium as a phone."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from bridge.level.step.step_values import (
    Bell,
    Instruction,
    Judgement,
    Outcome,
    Phase,
    Step,
    TempSeen,
)
from bridge.values.events import Mark
from tests.phone.browser import (
    LANDSCAPE,
    drag,
    missing,
    pair,
    phone,
    press,
    resize,
    seen,
)
from tests.phone.browser import until as wait
from tests.phone.contrast import contrasts, ratio
from tests.phone.hosted import Hosted, hosted
from tests.tui.stage import SHEET, WARM_UP, stale
from tui.phone.hub import CONTACT_S, LATE_S
from tui.words.result_words import came_of

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(bool(missing()), reason=missing() or "-"),
    # selenium's own sockets and processes, not ours to close
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.xdist_group("browser"),
]

GO = WARM_UP.snapshot(WARM_UP.t_at(45.0))
COLD = WARM_UP.snapshot(WARM_UP.t_at(31.0))
OPEN_NOW = {"phase": Phase.GO, "instruction": Instruction.OPEN_NOW}
WAIT = {"phase": Phase.WAIT, "instruction": Instruction.WAIT_WARMING}
RUNNING = {
    "phase": Phase.RUNNING_DOWN,
    "instruction": Instruction.WATCH,
    "past": (Step(phase=Phase.GO),),
}
SETTLED = {**RUNNING, "phase": Phase.SETTLED, "instruction": Instruction.CLOSE_SETTLED}


@pytest.fixture(scope="module")
def browser() -> Iterator[Chrome]:
    with phone() as driver:
        yield driver


@pytest.fixture
def host(browser: Chrome) -> Iterator[Hosted]:
    with hosted() as here:
        here.phase(GO, **OPEN_NOW)
        pair(browser, here.server.address)
        look(browser, "go")
        yield here


def look(browser: Chrome, wanted: str) -> dict:
    wait(lambda: seen(browser)["look"] == wanted)
    return seen(browser)


def test_the_page_says_what_the_laptop_says(browser: Chrome, host: Hosted) -> None:
    shown = seen(browser)
    assert shown["word"] == "GO"
    assert shown["do"] == "Open the level plug now."
    assert shown["number"] == "45.0"
    assert shown["main"] == "OPENED"
    assert "shuts in" in shown["shuts"]
    host.phase(COLD, **WAIT)
    shown = look(browser, "stop")
    assert shown["word"] == "NO-GO"
    assert "Too cold: 31.0" in shown["why"]
    assert "opens in" in shown["opens"]
    assert shown["dead"]


def test_a_stale_reading_is_not_shown_as_live(browser: Chrome, host: Hosted) -> None:
    host.phase(stale(GO.t_s + 4, 4.0), **WAIT)
    shown = look(browser, "stop")
    assert shown["number"] == "--.-"
    assert "45.0" not in " ".join(map(str, shown.values())).replace("seen 45.0", "")


def test_an_age_the_server_did_not_count_makes_it_stale(
    browser: Chrome, host: Hosted
) -> None:
    """The snapshot says GO with an age at the limit: what the way took is added."""
    host.phase(replace(GO, age_s=1.999), **OPEN_NOW)
    shown = look(browser, "stop")
    assert shown["number"] == "--.-"
    assert shown["do"] == "The last fluid temperature is too old to trust"


def test_opened_can_be_marked_while_the_reading_is_too_old(
    browser: Chrome, host: Hosted
) -> None:
    blind = {"phase": Phase.WAIT, "instruction": Instruction.WAIT_READING}
    host.phase(stale(GO.t_s + 4, 4.0), **blind, claimed=0.97)
    shown = look(browser, "stop")
    assert shown["dead"]
    assert shown["others"] == ["opened"]
    press(browser, "[data-mark=opened]")
    wait(lambda: seen(browser)["said"] == "OPENED: taken")
    assert [m.mark for m in host.told] == [Mark.OPENED]


@pytest.mark.parametrize("outcome", Outcome)
def test_no_go_stands_over_a_finished_job(
    browser: Chrome, host: Hosted, outcome: Outcome
) -> None:
    """The gate still says GO: the fluid is inside, the engine idles, all is met."""
    judged = Judgement(
        outcome=outcome,
        opened=TempSeen(at_s=0.0, temp_c=45.0, sd_c=0.2),
        closed=TempSeen(at_s=60.0, temp_c=46.0, sd_c=0.2),
        open_s=60.0,
        on_go=True,
        claimed=0.97,
        settled_chance=0.9,
        timer_only=False,
        inside=True,
        overdue_s=None,
        error=None,
        budget=None,
        added_ml=0.0,
    )
    host.phase(
        GO, phase=Phase.JUDGED, judgement=judged, instruction=Instruction.TIGHTEN
    )
    shown = look(browser, "came")
    assert shown["word"] == came_of(judged, SHEET).value
    assert "GO" not in shown["word"].split()
    assert (
        browser.execute_script(
            "return getComputedStyle(document.querySelector('.go-sign')).display"
        )
        == "none"
    )
    assert browser.execute_script(_AT, "#word")


def test_no_go_stands_over_a_plug_just_closed(browser: Chrome, host: Hosted) -> None:
    host.phase(GO, phase=Phase.CLOSED, instruction=Instruction.TIGHTEN)
    assert look(browser, "stop")["word"] == "NO-GO"


def test_a_result_without_contact_is_not_shown_as_live(
    browser: Chrome, host: Hosted
) -> None:
    host.phase(GO, phase=Phase.CLOSED, instruction=Instruction.TIGHTEN)
    host.silence()
    assert look(browser, "lost")["word"] == "NO-GO"


def test_the_big_button_marks_once_a_press(browser: Chrome, host: Hosted) -> None:
    press(browser, "#main")
    wait(lambda: seen(browser)["said"] == "OPENED: taken")
    host.phase(GO, **RUNNING)
    wait(lambda: seen(browser)["main"] == "DRIP" and not seen(browser)["dead"])
    for n in range(3):
        press(browser, "#main")
        wait(lambda n=n: len(host.told) == n + 2)
        time.sleep(0.15)  # a thumb is slower than this; nearer presses are one
    press(browser, "[data-mark=undo]")
    wait(lambda: len(host.told) == 5)
    assert [m.mark for m in host.told] == [
        Mark.OPENED,
        Mark.DRIP,
        Mark.DRIP,
        Mark.DRIP,
        Mark.UNDO,
    ]


def test_a_button_that_changes_its_meaning_is_dead_for_a_moment(
    browser: Chrome, host: Hosted
) -> None:
    wait(lambda: seen(browser)["main"] == "OPENED" and not seen(browser)["dead"])
    host.phase(GO, **RUNNING)
    wait(lambda: seen(browser)["main"] == "DRIP")
    if seen(browser)["dead"]:  # unless this machine was slower than that moment
        press(browser, "#main")
    wait(lambda: not seen(browser)["dead"])
    assert host.told == []
    press(browser, "#main")
    wait(lambda: [m.mark for m in host.told] == [Mark.DRIP])


def test_the_call_to_close_leaves_the_big_button_a_drip(
    browser: Chrome, host: Hosted
) -> None:
    """A thumb that taps drips must not end the step; CLOSED stands beside it."""
    host.phase(GO, **RUNNING)
    wait(lambda: seen(browser)["main"] == "DRIP" and not seen(browser)["dead"])
    host.phase(GO, **SETTLED)
    wait(lambda: seen(browser)["word"] == "CLOSE")  # though the window is open still
    assert seen(browser)["look"] == "stop"
    press(browser, "#main")
    wait(lambda: [m.mark for m in host.told] == [Mark.DRIP])
    time.sleep(0.2)  # one press of a thumb is not two
    press(browser, "#others .closing")
    wait(lambda: [m.mark for m in host.told] == [Mark.DRIP, Mark.CLOSED])


def test_a_mark_is_sent_again_with_the_same_nonce(
    browser: Chrome, host: Hosted
) -> None:
    """The first answer is lost on its way; the mark still counts once."""
    browser.execute_script(
        """
        const real = window.fetch; let lost = 0;
        window.fetch = async (path, options) => {
          const answer = await real(path, options);
          if (path === "/mark" && lost++ === 0) throw new TypeError("lost");
          return answer;
        };
        """
    )
    press(browser, "#main")
    wait(lambda: seen(browser)["said"] == "OPENED: taken")
    assert [m.mark for m in host.told] == [Mark.OPENED]


def test_a_mark_whose_answers_are_lost_is_asked_for_until_one_comes(
    browser: Chrome, host: Hosted
) -> None:
    """The laptop took it; the page hears of it when contact is back, and says so."""
    sent = cut_answers(browser)
    press(browser, "#main")
    wait(lambda: "no answer yet" in seen(browser)["said"])
    assert "not taken" not in seen(browser)["said"]
    assert [m.mark for m in host.told] == [Mark.OPENED]
    browser.execute_script("window.lost = false")
    wait(lambda: seen(browser)["said"] == "OPENED: taken")
    assert [m.mark for m in host.told] == [Mark.OPENED]
    assert len(set(sent())) == 1  # one nonce


def test_a_mark_that_never_arrived_is_called_too_late(
    browser: Chrome, host: Hosted
) -> None:
    cut_answers(browser, before=True)
    press(browser, "#main")
    wait(lambda: "no answer yet" in seen(browser)["said"])
    time.sleep(LATE_S)  # by the server's clock, which cannot be moved from here
    browser.execute_script("window.lost = false")
    wait(lambda: seen(browser)["said"] == "OPENED: not taken: too late")
    assert host.told == []


def test_a_mark_is_not_called_refused_where_the_pairing_ended_before_the_answer(
    browser: Chrome, host: Hosted
) -> None:
    cut_answers(browser)
    press(browser, "#main")
    wait(lambda: "no answer yet" in seen(browser)["said"])
    host.server.pairing._sessions.clear()
    browser.execute_script("window.lost = false")
    wait(lambda: "not known if taken" in seen(browser)["said"])


def cut_answers(browser: Chrome, *, before: bool = False) -> Callable[[], list[str]]:
    """Lose the answers to marks, or the marks themselves, while window.lost is true."""
    browser.execute_script(
        """
        const real = window.fetch, before = arguments[0];
        window.lost = true; window.nonces = [];
        window.fetch = async (path, options) => {
          if (path !== "/mark") return real(path, options);
          window.nonces.push(JSON.parse(options.body).nonce);
          if (window.lost && before) throw new TypeError("lost");
          const answer = await real(path, options);
          if (window.lost) throw new TypeError("lost");
          return answer;
        };
        """,
        before,
    )
    return lambda: list(browser.execute_script("return window.nonces"))


def watch(browser: Chrome) -> None:
    """Note every word the banner shows, and every sound, from now on."""
    browser.execute_script(
        """
        window.words = []; window.sounds = [];
        const word = document.getElementById("word");
        new MutationObserver(() => window.words.push(word.textContent)).observe(
          word, { childList: true, characterData: true, subtree: true });
        new MutationObserver(() => window.sounds.push(document.body.dataset.sounded))
          .observe(document.body, { attributeFilter: ["data-sounded"] });
        """
    )


def test_go_and_no_go_do_not_flap_on_a_slow_link(browser: Chrome, host: Hosted) -> None:
    """Each message is a little younger or older than it may be."""
    wait(lambda: seen(browser)["word"] == "GO")
    watch(browser)
    for n in range(16):
        late_s = CONTACT_S + (0.3 if n % 2 == 0 else -0.7)
        host.hub._clock = lambda late_s=late_s: time.monotonic() - late_s
        host.phase(GO, **OPEN_NOW)
        time.sleep(0.3)
    host.hub._clock = time.monotonic
    host.phase(GO, **OPEN_NOW)
    wait(lambda: seen(browser)["main"] == "OPENED")  # what was done can be marked
    assert browser.execute_script("return window.words") == ["NO-GO"]
    assert browser.execute_script("return window.sounds") == ["trouble"]
    assert seen(browser)["do"] == "Contact is back: not GO until it has held"
    wait(lambda: seen(browser)["word"] == "GO")
    assert browser.execute_script("return window.words") == ["NO-GO", "GO"]


def test_contact_that_comes_and_goes_must_hold_longer_each_time(
    browser: Chrome, host: Hosted
) -> None:
    """Messages come in bursts; each is live until it is 2 s old."""
    wait(lambda: seen(browser)["word"] == "GO")
    watch(browser)
    for _ in range(6):
        host.silence()
        time.sleep(CONTACT_S + 0.5)
        host.phase(GO, **OPEN_NOW)
        time.sleep(0.7)
    assert browser.execute_script("return window.words").count("GO") <= 1


def test_a_call_to_close_does_not_wait_for_steady_contact(
    browser: Chrome, host: Hosted
) -> None:
    host.silence()
    look(browser, "lost")
    host.phase(GO, **SETTLED)
    wait(lambda: seen(browser)["word"] == "CLOSE")
    assert seen(browser)["do"] != "Contact is back: not GO until it has held"


@pytest.mark.parametrize("bell", Bell)
def test_each_call_has_its_sound_and_is_spoken(
    browser: Chrome, host: Hosted, bell: Bell
) -> None:
    host.phase(GO, **OPEN_NOW, rung=bell, rung_at_s=5.0, now_at_s=5.0)
    wait(lambda: seen(browser)["sounded"] == bell.value)
    assert seen(browser)["spoken"] == "Open the level plug now."


def test_the_calls_sound_different(browser: Chrome, host: Hosted) -> None:
    """Rendered by the browser itself; each pattern of loudness and pitch is its own."""
    made = browser.execute_async_script(
        """
        const done = arguments[arguments.length - 1];
        import("/sound.js").then(async ({ Sound }) => {
          const told = {};
          for (const name of ["get-ready", "open", "close", "trouble"]) {
            const sound = new Sound();
            sound.context = new OfflineAudioContext(1, 8000 * 3, 8000);
            Object.defineProperty(sound.context, "state", { get: () => "running" });
            sound.play(name);
            const wave = (await sound.context.startRendering()).getChannelData(0);
            told[name] = [];
            for (let n = 0; n < wave.length; n += 800) {
              const part = wave.subarray(n, n + 800);
              let power = 0, crossings = 0;
              for (let i = 1; i < part.length; i += 1) {
                power += part[i] * part[i];
                if (part[i - 1] < 0 && part[i] >= 0) crossings += 1;
              }
              told[name].push(power < 1 ? 0 : crossings);
            }
          }
          done(told);
        });
        """
    )
    assert all(any(pattern) for pattern in made.values())
    for one, other in pairwise(sorted(made)):
        differ = sum(a != b for a, b in zip(made[one], made[other], strict=True))
        assert differ >= 5, (one, other)


def test_it_can_be_muted_and_the_screen_is_kept_awake(
    browser: Chrome, host: Hosted
) -> None:
    browser.find_element("id", "mute").click()
    assert browser.find_element("id", "mute").text == "Sound off"
    wait(lambda: seen(browser)["awake"] == "lock")


def test_where_there_is_no_wake_lock_a_small_film_plays(browser: Chrome) -> None:
    browser.execute_cdp_cmd(
        "Page.addScriptToEvaluateOnNewDocument",
        {"source": "Object.defineProperty(navigator, 'wakeLock', {value: undefined})"},
    )
    with hosted() as here:
        pair(browser, here.server.address)
        wait(lambda: seen(browser)["awake"])
        assert seen(browser)["awake"] == "film"
        playing = (
            "const f = document.getElementById('film'); return !f.paused && f.loop"
        )
        assert browser.execute_script(playing)


def test_a_reload_needs_no_new_code_and_a_used_code_does_not_pair(
    browser: Chrome, host: Hosted
) -> None:
    browser.refresh()
    look(browser, "go")
    browser.delete_all_cookies()
    with hosted() as other:
        browser.get(f"{other.server.address}")
        other.pair()  # somebody was faster
        browser.find_element("id", "touch").click()
        wait(lambda: "Not paired" in browser.find_element("id", "hint").text)
        assert seen(browser)["look"] == "lost"


def test_it_fits_both_ways_round_without_scrolling(
    browser: Chrome, host: Hosted
) -> None:
    host.phase(GO, **RUNNING)
    wait(lambda: "undo" in seen(browser)["others"])
    for size in ((390, 844), LANDSCAPE, (320, 568), (568, 320), (412, 915)):
        resize(browser, size)
        boxes = browser.execute_script(
            "return ['word', 'do', 'number', 'main', 'others'].map((id) => {"
            "const r = document.getElementById(id).getBoundingClientRect();"
            "return [r.left, r.top, r.right, r.bottom]; })"
        )
        for left, top, right, bottom in boxes:
            assert 0 <= left < right <= size[0] + 1, (size, boxes)
            assert 0 <= top < bottom <= size[1] + 1, (size, boxes)
        main = boxes[3]
        # 9 mm is the least a thumb needs (common practice); 60 px are 9.5 mm here
        assert main[3] - main[1] >= 60
    resize(browser, (390, 844))


SMALL = {
    "small": ((320, 480), "100%"),
    "large text": ((320, 480), "150%"),
    "zoomed": ((213, 320), "100%"),
    "turned, large text": ((480, 320), "150%"),
}


@pytest.mark.parametrize("kind", SMALL)
def test_a_screen_too_small_for_it_all_scrolls(
    browser: Chrome, host: Hosted, kind: str
) -> None:
    size, text = SMALL[kind]
    host.phase(GO, **RUNNING)
    wait(lambda: "undo" in seen(browser)["others"] and not seen(browser)["dead"])
    resize(browser, size)
    browser.execute_script(
        "document.documentElement.style.fontSize = arguments[0]", text
    )
    try:
        out = browser.execute_script(_OUT_OF_REACH)
        assert out == []
        browser.execute_script("window.scrollTo(0, 1e6)")
        assert browser.execute_script(_AT, "#word"), "the verdict has scrolled away"
    finally:
        resize(browser, (390, 844))


_AT = """
const box = document.querySelector(arguments[0]).getBoundingClientRect();
return box.top >= 0 && box.bottom <= innerHeight + 1;
"""
_OUT_OF_REACH = """
const all = "#mute, #word, #do, .figure, .figure b, .figure span, #main, "
  + "#others button";
return [...document.querySelectorAll(all)].filter((node) => {
  node.scrollIntoView({ block: "end", behavior: "instant" });
  const box = node.getBoundingClientRect();
  const inside = box.left >= 0 && box.right <= innerWidth + 1
    && box.top >= 0 && box.bottom <= innerHeight + 1;
  const top = document.elementFromPoint(
    (box.left + box.right) / 2, (box.top + box.bottom) / 2);
  const cut = getComputedStyle(node).display !== "inline"
    && (node.scrollWidth > node.clientWidth + 1
      || node.scrollHeight > node.clientHeight + 1) && node.id !== "word";
  return !inside || cut || !(node.contains(top) || top.contains(node));
}).map((node) => node.id || node.textContent);
"""


def test_a_touch_that_scrolls_marks_nothing(browser: Chrome, host: Hosted) -> None:
    host.phase(GO, **RUNNING)
    wait(lambda: seen(browser)["main"] == "DRIP" and not seen(browser)["dead"])
    resize(browser, (320, 320))
    try:
        browser.execute_script("document.getElementById('main').scrollIntoView(false)")
        drag(browser, "#main", -90)
        wait(lambda: browser.execute_script("return scrollY") > 0)
        time.sleep(0.3)
        assert host.told == []
        browser.execute_script("document.getElementById('main').scrollIntoView(false)")
        press(browser, "#main")
        wait(lambda: [m.mark for m in host.told] == [Mark.DRIP])
        time.sleep(0.3)
        assert len(host.told) == 1
    finally:
        resize(browser, (390, 844))


def test_every_text_has_contrast_of_7_to_1(browser: Chrome, host: Hosted) -> None:
    host.phase(GO, **RUNNING)
    wait(lambda: "undo" in seen(browser)["others"] and not seen(browser)["dead"])
    found = contrasts(browser)
    host.phase(COLD, **WAIT)
    look(browser, "stop")
    found |= {f"stop {k}": v for k, v in contrasts(browser).items()}
    host.server.stop()
    look(browser, "lost")
    found |= {f"lost {k}": v for k, v in contrasts(browser).items()}
    assert len(found) > 25
    assert min(found.values()) >= 7.0, min(found.items(), key=lambda kv: kv[1])


def test_the_ratio_is_that_of_the_guidelines() -> None:
    """Black on white is 21:1 by the definition; #767676 on white is 4.54:1 (W3C's
    'Understanding 1.4.3' names it as just above 4.5, from memory)."""
    assert ratio((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert ratio((0x76,) * 3, (255,) * 3) == pytest.approx(4.54, abs=0.01)


def test_nothing_is_asked_for_elsewhere() -> None:
    """In a browser of its own: one that was elsewhere may still fetch that icon."""
    with phone() as fresh, hosted() as here:
        here.phase(GO, **OPEN_NOW)
        pair(fresh, here.server.address)
        look(fresh, "go")
        asked = fresh.execute_script(
            "return performance.getEntriesByType('resource').map((e) => e.name)"
        )
        assert asked
        assert all(name.startswith(f"http://{here.authority}/") for name in asked)
        grave = [e for e in fresh.get_log("browser") if "Content Security" in str(e)]
        assert grave == []
