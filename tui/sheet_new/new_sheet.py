"""From the answers to a sheet with comments; what is not known is a comment too."""

from __future__ import annotations

import json
from collections.abc import Iterable

from bridge.units import Units
from bridge.values.sheet import EngineRule, LevelMethod
from tui.sheet_new import usual_lines
from tui.sheet_new.questions import Answers

_HEAD = """\
# Written by `sumpgate sheet new`. The maker's figures come first: look every one up
# before you use it. A line that begins with # is not read; `sumpgate sheet check`
# says what is missing, and profiles/README.md explains every key.
"""


def sheet_toml(answers: Answers, units: Units) -> str:
    """Return the sheet's text; it can be read back as it is."""
    like = _LIKE[units]
    sections = (
        _gearbox(answers),
        _level(answers),
        _sump(answers, like),
        _fluid(answers, like),
        _signal(answers),
        *_plugs(answers, like),
        _drain(answers, like),
        _exercise(answers),
        _interval(answers, like),
        usual_lines.cautions(answers),
        usual_lines.steps(answers),
    )
    body = "\n".join(section for section in sections if section)
    return f"{_HEAD}\n{body}"


Like = dict[str, str]
_LIKE: dict[Units, Like] = {
    Units.METRIC: {
        "fill": "6 L",
        "area": "500 cm2",
        "bore": "8 mm",
        "service_fill": "4.5 L",
        "holds": "0.3 L",
        "pitch": "1.5 mm",
        "light": "3 N*m",
        "torque": "30 N*m",
        "expected": "4 L",
        "distance": "60000 km",
    },
    Units.US: {
        "fill": "6.3 qt",
        "area": "78 in2",
        "bore": "0.3 in",
        "service_fill": "4.8 qt",
        "holds": "0.3 qt",
        "pitch": "1.5 mm",
        "light": "2.2 lbf*ft",
        "torque": "22 lbf*ft",
        "expected": "4.2 qt",
        "distance": "40000 mi",
    },
}
"""What a figure looks like that is not known, in the person's units."""


def _quoted(text: str) -> str:
    """Write a text as TOML: JSON's escapes are TOML's too."""
    return json.dumps(text, ensure_ascii=False)


def _line(key: str, answer: str | None, example: str, look_up: str) -> str:
    """Return a key's line, or the comment that says what to look up."""
    if answer is None:
        return f"# {key} = {example}   # not known yet: {look_up}"
    return f"{key} = {answer}"


def _figure(key: str, name: str, answers: Answers, like: Like, look_up: str) -> str:
    return _line(key, _text(answers, name), _quoted(like[key]), look_up)


def _text(answers: Answers, name: str) -> str | None:
    return _quoted(answers[name]) if name in answers else None


def _section(title: str, lines: Iterable[str]) -> str:
    return "\n".join([title, *(line for line in lines if line), ""])


def _gearbox(answers: Answers) -> str:
    source = answers.get("source", "not known yet: name the document and its edition")
    return _section(
        "[gearbox]",
        [f"name = {_quoted(answers['name'])}", f"source = {_quoted(source)}"],
    )


def _level(answers: Answers) -> str:
    low, high = _quoted(answers["low"]), _quoted(answers["high"])
    settle = _text(answers, "settle")
    confirm = ["cautions", "car-level"]
    confirm += ["selector-exercised"] if "positions" in answers else []
    return _section(
        "[level]",
        [
            f"window = [{low}, {high}]",
            f'engine = "{answers.get("engine", EngineRule.IDLING)}"',
            f'method = "{answers.get("method", LevelMethod.OVERFLOW_TUBE)}"',
            _line("settle_time", settle, '"90 s"', "else reckoned from bore and area"),
            f"confirm = {json.dumps(confirm)}",
            _line("selector", _text(answers, "selector"), '"P"', "where it stands"),
        ],
    )


def _sump(answers: Answers, like: Like) -> str:
    return _section(
        "[sump]",
        [
            _figure("fill", "total", answers, like, "the dry fill"),
            _figure(
                "area",
                "area",
                answers,
                like,
                "length times width of the pan at the level",
            ),
            _line("bore", None, _quoted(like["bore"]), "of the level opening"),
        ],
    )


def _fluid(answers: Answers, like: Like) -> str:
    parts = [
        _section(
            "[fluid]",
            [
                _line(
                    "name",
                    _text(answers, "fluid"),
                    '"..."',
                    "what the maker asks of it",
                ),
                _figure(
                    "service_fill",
                    "service_fill",
                    answers,
                    like,
                    "what a service takes",
                ),
            ],
        )
    ]
    if answers.get("filter") == "yes":
        holds = _figure("holds", "filter_holds", answers, like, "measure the old one")
        parts.append(_section("[filter]", [holds]))
    if answers.get("method", LevelMethod.OVERFLOW_TUBE) == LevelMethod.OVERFLOW_TUBE:
        pitch = _figure("pitch", "pitch", answers, like, "measure the thread")
        parts.append(_section("[tube]", [pitch]))
    return "\n".join(parts)


_NO_SIGNAL = """\
# How the car is asked for the fluid temperature is not known yet. Until it is, measure
# the fluid with a thermometer.
# [[signal]]
# role = "fluid-temperature"
# request_id = "7E1"
# service = 0x22
# identifier = 0x1157
# offset = -40.0
# unit = "degC"
# not_available = [0xFF]
"""


def _signal(answers: Answers) -> str:
    if answers.get("readable") != "yes":
        return _NO_SIGNAL
    length = int(answers.get("length", "1"), 0)
    offset = answers.get("offset", "-40.0" if length == 1 else "0.0")
    return _section(
        "[[signal]]",
        [
            'role = "fluid-temperature"',
            f'request_id = "{answers["request_id"]}"',
            f"service = {answers['service']}",
            f"identifier = {answers['identifier']}",
            f"first_byte = {answers.get('first_byte', '0')}",
            f"length = {length}",
            f"factor = {answers.get('factor', '1.0')}",
            f"offset = {offset}",
            'unit = "degC"',
            'minimum = "-40 degC"   # ours: no fluid is colder or hotter',
            'maximum = "180 degC"',
        ],
    )


def _plugs(answers: Answers, like: Like) -> Iterable[str]:
    """Yield the plugs there are; their names are used again by the drain."""
    renew = answers.get("renew")
    new = f'renew = ["{renew}"]' if renew != "nothing" else ""
    if renew is None:
        new = '# renew = ["washer"]   # not known yet: what must be new'
    yield _fastener("drain plug", "drain", (new,), answers, like)
    if answers.get("method") == LevelMethod.STICK:
        return
    yield _fastener("level plug", "level", (new, 'step = "level"'), answers, like)
    yield _fastener("filler plug", "fill", ('step = "closing"',), answers, like)
    if "turns" in answers:
        yield _section(
            "[[fastener]]",
            [
                'name = "overflow tube"',
                _line("torque", None, _quoted(like["light"]), "look it up"),
                f"turns_back = {answers['turns']}",
            ],
        )


def _fastener(
    name: str, prefix: str, more: tuple[str, ...], answers: Answers, like: Like
) -> str:
    thread, torque = f"{prefix}_thread", f"{prefix}_torque"
    return _section(
        "[[fastener]]",
        [
            f'name = "{name}"',
            _line(
                "thread", _text(answers, thread), '"M14x1.5"', "read it off the plug"
            ),
            _figure("torque", torque, answers, like, "look it up"),
            *more,
        ],
    )


def _drain(answers: Answers, like: Like) -> str:
    return _section(
        "[[drain]]",
        [
            'name = "pan"',
            'fastener = "drain plug"',
            _figure(
                "expected", "drained", answers, like, "write what came out last time"
            ),
        ],
    )


def _exercise(answers: Answers) -> str:
    if "positions" not in answers:
        if answers.get("engine") == EngineRule.OFF:
            return ""
        return '# [exercise]\n# positions = ["P", "R", "N", "D"]   # not known yet\n'
    positions = json.dumps(answers["positions"].split(), ensure_ascii=False)
    return _section(
        "[exercise]",
        [
            f"positions = {positions}",
            f"hold = {_text(answers, 'hold') or _quoted('3 s')}",
        ],
    )


def _interval(answers: Answers, like: Like) -> str:
    if "distance" not in answers and "months" not in answers:
        line = _line("distance", None, _quoted(like["distance"]), "look it up")
        return f"# [interval]\n{line}\n"
    return _section(
        "[interval]",
        [
            _figure("distance", "distance", answers, like, "look it up"),
            _line("months", answers.get("months"), "48", "look it up"),
            "severe_factor = 0.5   # half (common practice): look the maker's up",
            f"severe = {json.dumps(list(usual_lines.SEVERE))}",
        ],
    )
