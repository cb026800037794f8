"""What may be typed in `live --thermometer --json`, a line at a time."""

from __future__ import annotations

from bridge.level.thermometer import read_typed
from bridge.values.events import Mark, Marked, Measured, Tilted
from bridge.values.sheet import Confirmation

MARKS: dict[str, Mark] = {
    "opened": Mark.OPENED,
    "drip": Mark.DRIP,
    "closed": Mark.CLOSED,
    "undo": Mark.UNDO,
    "again": Mark.RESTART,
}
_HELP = (
    "type a temperature such as 38.5 or 101 F; 'confirm WORD' or 'withdraw WORD' with "
    f"one of {', '.join(Confirmation)}; or one of {', '.join(MARKS)}"
)


def read_line(text: str, accuracy_c: float) -> Marked | Measured | Tilted | str:
    """Return what a line tells, or a sentence that says what is wrong with it."""
    words = text.strip().split()
    if len(words) == 1 and words[0] in MARKS:
        return Marked(mark=MARKS[words[0]], t_s=0.0)
    if len(words) == 2 and words[0] in ("confirm", "withdraw"):
        return _confirmation(words[0], words[1])
    temp_c = read_typed(text)
    if isinstance(temp_c, str):
        return f"{temp_c.split(':')[0]}: {_HELP}"
    return Measured(temp_c=temp_c, accuracy_c=accuracy_c, t_s=0.0)


def _confirmation(act: str, what: str) -> Marked | str:
    if what not in tuple(Confirmation):
        return f"{what[:30]!r} cannot be confirmed: {_HELP}"
    mark = Mark.CONFIRMED if act == "confirm" else Mark.WITHDRAWN
    return Marked(mark=mark, confirms=Confirmation(what), t_s=0.0)
