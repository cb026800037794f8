"""From the answers to a sheet with comments; what is not known is a comment too."""

from __future__ import annotations

import json
from collections.abc import Iterator

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
    return f"{_HEAD}\n" + "\n".join(_SheetText(answers, _LIKE[units]).sections())


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


_TUBE = LevelMethod.OVERFLOW_TUBE


def _quoted(text: str) -> str:
    """Write a text as TOML: JSON's escapes are TOML's too."""
    return json.dumps(text, ensure_ascii=False)


def _section(title: str, *lines: str) -> str:
    return "\n".join([title, *(line for line in lines if line), ""])


class _SheetText:
    """Makes the sections from the answers."""

    def __init__(self, answers: Answers, like: Like) -> None:
        self._answers, self._like = answers, like

    def sections(self) -> Iterator[str]:
        """Yield the sections of the sheet in their order."""
        answers = self._answers
        source = answers.get(
            "source", "not known yet: name the document and its edition"
        )
        yield _section(
            "[gearbox]",
            f"name = {_quoted(answers['name'])}",
            f"source = {_quoted(source)}",
        )
        yield self._level()
        yield _section(
            "[sump]",
            self._figure("fill", "total", "the dry fill"),
            self._figure("area", "area", "length times width of the pan at the level"),
            self._figure("bore", "", "of the level opening"),
        )
        yield _section(
            "[fluid]",
            self._line("name", "fluid", "...", "what the maker asks of it"),
            self._figure("service_fill", "service_fill", "what a service takes"),
        )
        if answers.get("filter") == "yes":
            holds = self._figure("holds", "filter_holds", "measure the old one")
            yield _section("[filter]", holds)
        if answers.get("method", _TUBE) == _TUBE:
            pitch = self._figure("pitch", "pitch", "measure the thread")
            yield _section("[tube]", pitch)
        yield self._signal()
        yield from self._plugs()
        yield _section(
            "[[drain]]",
            'name = "pan"',
            'fastener = "drain plug"',
            self._figure("expected", "drained", "write what came out last time"),
        )
        yield from self._exercise()
        yield self._interval()
        yield usual_lines.cautions(answers)
        yield usual_lines.steps(answers)

    def _line(self, key: str, name: str, example: str, look_up: str) -> str:
        """Return a key's line, or the comment that says what to look up."""
        if name in self._answers:
            return f"{key} = {_quoted(self._answers[name])}"
        return f"# {key} = {_quoted(example)}   # not known yet: {look_up}"

    def _figure(self, key: str, name: str, look_up: str) -> str:
        return self._line(key, name, self._like[key], look_up)

    def _level(self) -> str:
        answers = self._answers
        confirm = ["cautions", "car-level"]
        confirm += ["selector-exercised"] if "positions" in answers else []
        return _section(
            "[level]",
            f"window = [{_quoted(answers['low'])}, {_quoted(answers['high'])}]",
            f'engine = "{answers.get("engine", EngineRule.IDLING)}"',
            f'method = "{answers.get("method", _TUBE)}"',
            self._line(
                "settle_time", "settle", "90 s", "else reckoned from bore and area"
            ),
            f"confirm = {json.dumps(confirm)}",
            self._line("selector", "selector", "P", "where it stands"),
        )

    def _signal(self) -> str:
        answers = self._answers
        if answers.get("readable") != "yes":
            return _NO_SIGNAL
        length = int(answers.get("length", "1"), 0)
        return _section(
            "[[signal]]",
            'role = "fluid-temperature"',
            f'request_id = "{answers["request_id"]}"',
            f"service = {answers['service']}",
            f"identifier = {answers['identifier']}",
            f"first_byte = {answers.get('first_byte', '0')}",
            f"length = {length}",
            f"factor = {answers.get('factor', '1.0')}",
            f"offset = {answers.get('offset', '-40.0' if length == 1 else '0.0')}",
            'unit = "degC"',
            'minimum = "-40 degC"   # ours: no fluid is colder or hotter',
            'maximum = "180 degC"',
        )

    def _plugs(self) -> Iterator[str]:
        """Yield the plugs there are; their names are used again by the drain."""
        answers, renew = self._answers, self._answers.get("renew")
        new = f'renew = ["{renew}"]' if renew != "nothing" else ""
        if renew is None:
            new = '# renew = ["washer"]   # not known yet: what must be new'
        yield self._fastener("drain plug", "drain", new)
        if answers.get("method") == LevelMethod.STICK:
            return
        yield self._fastener("level plug", "level", new, 'step = "level"')
        yield self._fastener("filler plug", "fill", 'step = "closing"')
        if "turns" in answers:
            yield _section(
                "[[fastener]]",
                'name = "overflow tube"',
                self._line("torque", "", self._like["light"], "look it up"),
                f"turns_back = {answers['turns']}",
            )

    def _fastener(self, name: str, prefix: str, *more: str) -> str:
        return _section(
            "[[fastener]]",
            f'name = "{name}"',
            self._line("thread", f"{prefix}_thread", "M14x1.5", "read it off the plug"),
            self._figure("torque", f"{prefix}_torque", "look it up"),
            *more,
        )

    def _exercise(self) -> Iterator[str]:
        answers = self._answers
        if "positions" in answers:
            positions = json.dumps(answers["positions"].split(), ensure_ascii=False)
            hold = _quoted(answers.get("hold", "3 s"))
            yield _section("[exercise]", f"positions = {positions}", f"hold = {hold}")
        elif answers.get("engine") != EngineRule.OFF:
            yield '# [exercise]\n# positions = ["P", "R", "N", "D"]   # not known yet\n'

    def _interval(self) -> str:
        months = self._answers.get("months")
        distance = self._figure("distance", "distance", "look it up")
        if "distance" not in self._answers and months is None:
            return f"# [interval]\n{distance}\n"
        return _section(
            "[interval]",
            distance,
            f"months = {months}"
            if months
            else "# months = 48   # not known yet: look it up",
            "severe_factor = 0.5   # half (common practice): look the maker's up",
            f"severe = {json.dumps(list(usual_lines.SEVERE))}",
        )
