"""Which commands an adapter takes, and which settings it really changes."""

from __future__ import annotations

from typing import ClassVar

from bridge.values.causes import Cause
from simulators.characters.character import Character
from simulators.characters.connecting import is_request


class Deaf(Character):
    """A setting is taken with OK and changes nothing."""

    command: ClassVar[str] = ""

    def typed(self, line: str) -> str | None:
        """Say OK, do nothing."""
        return "OK" if line == self.command else None


class EchoKept(Deaf):
    """The echo stays on."""

    name = "echo-stays"
    about = "ATE0 says OK and the echo stays on"
    command = "ATE0"


class LinefeedsStay(Deaf):
    """Line feeds stay on."""

    name = "linefeeds-stay"
    about = "ATL0 says OK and line feeds stay on"
    command = "ATL0"


class SpacesStay(Deaf):
    """Blanks between the bytes stay on."""

    name = "spaces-stay"
    about = "ATS0 says OK and the blanks stay"
    command = "ATS0"


class NotTaken(Character):
    """A command the adapter does not know."""

    command: ClassVar[str] = ""
    more: ClassVar[str] = ""
    """What must follow for a longer command to be meant too."""

    def typed(self, line: str) -> str | None:
        """Answer with a question mark."""
        whole = line == self.command
        return "?" if whole or line.startswith(self.command + self.more) else None


def _lacking(name: str, command: str) -> type[NotTaken]:
    return type(
        f"No{command.title()}",
        (NotTaken,),
        {
            "name": name,
            "about": f"{command} is answered with ?",
            "command": command,
            "more": "=" if command == "ATD" else "",
            "__doc__": f"{command} is answered with a question mark.",
        },
    )


LACKING = tuple(
    _lacking(f"no-{command.lower()}", command)
    for command in ("ATD", "ATAT", "ATST", "ATCAF", "ATWS", "ATCRA", "ATDPN", "ATS0")
)


class NoHeader(NotTaken):
    """ATSH is not known: a gearbox cannot be asked."""

    name = "no-atsh"
    about = "ATSH is answered with ?"
    command = "ATSH"
    refused_as = Cause.HEADER_REFUSED


class NoHeadersShown(NotTaken):
    """ATH1 is not known: nobody can tell who answers."""

    name = "no-ath1"
    about = "ATH1 is answered with ?"
    command = "ATH1"
    refused_as = Cause.COMMAND_REFUSED


class NoCountDigit(Character):
    """The count of expected answers is not understood."""

    name = "no-count-digit"
    about = "a request with a count digit is answered with ?"

    def typed(self, line: str) -> str | None:
        """Refuse requests of odd length."""
        return "?" if is_request(line) and len(line) % 2 else None


class EmptyOk(Character):
    """ATH1 is obeyed and answered with an empty line."""

    name = "empty-ok"
    about = "ATH1 works and is answered with an empty line"

    def typed(self, line: str) -> str | None:
        """Do it, say nothing."""
        if line != "ATH1" or self.bench is None:
            return None
        self.bench.adapter.memory.headers = True
        return ""


COMMANDS_KNOWN: tuple[type[Character], ...] = (
    EchoKept, LinefeedsStay, SpacesStay, *LACKING, NoHeader, NoHeadersShown,
    NoCountDigit, EmptyOk,
)  # fmt: skip
