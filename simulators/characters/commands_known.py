"""Which commands an adapter takes, and which settings it really changes."""

from __future__ import annotations

from bridge.values.causes import Cause
from simulators.adapter.hooks import variant
from simulators.characters.character import Answering, Character


def _deaf(name: str, command: str, what: str) -> type[Character]:
    about = f"{command} says OK and {what}"
    return variant(Answering, name, about, pattern=command, text="OK")


def _lacking(command: str, refused_as: Cause | None = None) -> type[Character]:
    # ATD stands for itself alone: ATDP and ATDPN are other commands.
    longer = "" if command == "ATD" else ".*"
    return variant(
        Answering, f"no-{command.lower()}", f"{command} is answered with ?",
        pattern=command + longer, refused_as=refused_as,
    )  # fmt: skip


class _EmptyOk(Character):
    name = "empty-ok"
    about = "ATH1 works and is answered with an empty line"

    def typed(self, line: str) -> str | None:
        if line != "ATH1":
            return None
        self.bench.adapter.memory.headers = True
        return ""


class NoCountDigit(Answering):
    """The count of expected answers is not understood."""

    name = "no-count-digit"
    about = "a request with a count digit is answered with ?"
    pattern = "(?:[0-9A-F]{2})+[0-9A-F]"


COMMANDS_KNOWN: tuple[type[Character], ...] = (
    _deaf("echo-stays", "ATE0", "the echo stays on"),
    _deaf("linefeeds-stay", "ATL0", "line feeds stay on"),
    _deaf("spaces-stay", "ATS0", "the blanks stay"),
    *map(_lacking, ("ATD", "ATAT", "ATST", "ATCAF", "ATWS", "ATCRA", "ATDPN", "ATS0")),
    _lacking("ATSH", Cause.HEADER_REFUSED),
    _lacking("ATH1", Cause.COMMAND_REFUSED),
    NoCountDigit,
    _EmptyOk,
)
