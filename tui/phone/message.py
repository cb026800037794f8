"""A snapshot as the page gets it: words and figures, nothing it could misread.

The words are the screen's (tui.live.screen_state): the two can never differ.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from bridge.level.step.step_values import Phase
from bridge.values.conditions import Verdict
from bridge.values.events import Mark
from bridge.values.frozen import frozen
from tui.inputs.offers import by_button
from tui.live.screen_state import Contact, ScreenInputs, ScreenState, screen_state
from tui.words import figures, result_words, step_wording, wording
from tui.words.instructions import instruction_text
from tui.words.screen import phone_words

if TYPE_CHECKING:
    from bridge.level.step.step_values import Step
    from tui.feeds.called_out import Call
    from tui.words.screen.countdown import Countdown


@frozen
class Scene(ScreenInputs):
    """What one message is made from: what the screen is, and what only a page tells."""

    stale_s: float
    """The age in seconds beyond which a reading is stale."""
    source: str = ""
    speed: float | None = None


def message(scene: Scene, *, sent_s: float, call: Call | None) -> dict[str, Any]:
    """Return what the page shows, as plain JSON values.

    ``sent_s``: the server's own clock when the snapshot was made; from it the page
    tells how old the message is. ``call``: the last thing called out.
    """
    if scene.snapshot is not None and scene.snapshot.lead is not None:
        scene = replace(scene, sheet=scene.snapshot.lead)
    held = scene.contact is Contact.HELD and scene.snapshot is not None
    shown = screen_state(scene)
    return {
        "sent_s": round(sent_s, 4),
        "held": held,
        "go": shown.verdict is Verdict.GO,
        "shut": held and _calls_to_close(scene),
        "result": shown.result.came.value if shown.result else "",
        "hurry": shown.hurry,
        "headline": figures.clean(shown.headline),
        "remedy": _remedy(shown),
        "why": _why(scene, shown),
        "more": shown.more,
        "number": shown.number,
        "unit": shown.unit,
        "spread": shown.spread,
        "trend": shown.trend,
        "last_seen": shown.last_seen,
        "opens": _countdown(shown.opens),
        "shuts": _countdown(shown.shuts),
        "age_s": _age(scene),
        "stale_s": scene.stale_s,
        "source": _source(scene),
        "window": wording.window(scene.sheet, scene.unit).replace("–", " to "),
        "call": _call(call),
        **_step(scene),
    }


def encode(content: dict[str, Any]) -> bytes:
    """Return a message as one server-sent event (WHATWG HTML, 9.2: data, empty line).

    JSON has no bare line ends, so one data line holds it all.
    """
    text = json.dumps(content, ensure_ascii=False, allow_nan=False)
    return f"data: {text}\n\n".encode()


def _remedy(shown: ScreenState) -> str:
    """Say where, if it is a key of the laptop that helps."""
    remedy = figures.clean(shown.remedy)
    keyed = "press " in remedy.casefold() or "(key" in remedy
    return f"On the laptop: {remedy}" if keyed else remedy


def _calls_to_close(scene: Scene) -> bool:
    """Say whether the plug is called in: from afar that matters more than GO."""
    step = scene.snapshot.step if scene.snapshot else None
    return step is not None and step.phase in (Phase.SETTLED, Phase.CLOSE)


def _why(scene: Scene, shown: ScreenState) -> str:
    """Return what to say beside the imperative: the reason, unless that is it."""
    step = scene.snapshot.step if scene.snapshot else None
    same = step is not None and shown.headline == instruction_text(step.instruction)
    return _remedy(shown) if same or step is None else figures.clean(shown.headline)


def _countdown(counting: Countdown) -> dict[str, Any]:
    return {
        "label": counting.label,
        "big": counting.big,
        "big_unit": counting.big_unit,
        "line": counting.sentences[0] if counting.sentences else "",
    }


def _age(scene: Scene) -> float | None:
    snapshot = scene.snapshot
    age_s = figures.known(snapshot.age_s, 0.0) if snapshot else None
    return None if age_s is None else round(age_s, 3)


def _source(scene: Scene) -> str:
    source = figures.clean(scene.source, 60)
    return f"×{scene.speed:g} {source}" if scene.speed is not None else source


def _call(call: Call | None) -> dict[str, Any] | None:
    if call is None:
        return None
    bell = None if call.bell is None else call.bell.value
    return {"number": call.number, "bell": bell, "text": call.text}


def _step(scene: Scene) -> dict[str, Any]:
    step = scene.snapshot.step if scene.snapshot else None
    if step is None or scene.contact is not Contact.HELD:
        return {"phase": "", "do": "", "standing": "", "count": 0, **_buttons(None)}
    line = phone_words.ON_PHONE.get(step.instruction) or instruction_text(
        step.instruction
    )
    return {
        "phase": step.phase.value,
        "do": line,
        "standing": _standing(step, scene),
        "count": len(step.drips_s),
        **_buttons(None if scene.unread else step),
    }


def _standing(step: Step, scene: Scene) -> str:
    came = result_words.result(step, scene.sheet, scene.unit)
    return came.line if came else ", ".join(step_wording.standing(step, scene.unit))


def _buttons(step: Step | None) -> dict[str, Any]:
    """Return the buttons and what stands on them; the first is big if it is main."""
    offered = [o for o in by_button(step) if o.mark is not None]
    main = next((o.mark for o in offered if o.main), None)
    undo = any(o.mark is Mark.UNDO for o in offered)
    others = [o.mark for o in offered if not o.main and o.mark is not Mark.UNDO]
    return {
        "main": main,
        "others": others,
        "undo": undo,
        "names": {o.mark: o.button for o in offered},
    }
