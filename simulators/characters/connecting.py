"""Characters that show while a program connects: banners, prompts, commands."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from bridge.values.causes import Cause
from simulators.characters.character import Character, Pieces

if TYPE_CHECKING:
    from simulators.adapter.hooks import Host

_REQUEST = re.compile(r"(?:[0-9A-F]{2})+[0-9A-F]?")


def is_request(line: str) -> bool:
    """Tell whether a typed line is a request to the car."""
    return _REQUEST.fullmatch(line) is not None


class QuestionFirst(Character):
    """A lone question mark stands before a good banner."""

    name = "question-first"
    about = "a line with ? before the banner, at every restart"

    def departing(self, pieces: Pieces) -> Pieces:
        """Put the line in front of the banner."""
        return [
            (at_s, b"?\r\r" + piece if piece.startswith(b"ELM") else piece)
            for at_s, piece in pieces
        ]


class JunkBytes(Character):
    """Bytes that are no text stand before the banner and after the echo."""

    name = "junk-bytes"
    about = "FC and NUL bytes before the banner and at the ends of lines"

    def departing(self, pieces: Pieces) -> Pieces:
        """Put them at both ends of every line."""
        return [
            (at_s, b"\xfc\x00" + piece[:-1] + b"\x00\r" if _is_line(piece) else piece)
            for at_s, piece in pieces
        ]


def _is_line(piece: bytes) -> bool:
    return len(piece) > 2 and piece.endswith(b"\r")


class RadioFirst(Character):
    """The radio part speaks first, and the first command is lost on it."""

    name = "radio-first"
    about = "a connect notice comes first, and the first command is answered with ?"

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._greeted = False

    def started(self, bench: Host) -> None:
        """Say the notice once somebody connects."""
        super().started(bench)
        self._greeted = False

    def typed(self, line: str) -> str | None:  # noqa: ARG002 - whichever it is
        """Answer the first command as one that came in the wrong place."""
        if self._greeted or self.bench is None:
            return None
        self._greeted = True
        self.bench.adapter.say("+LINK 0A1B,UP")
        self.bench.adapter.say("CONNECTED")
        return "?"


class OldAnswer(Character):
    """An answer to another program's question is still in the line."""

    name = "old-answer"
    about = "an old answer of another program comes with the first one"

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._over = False

    def departing(self, pieces: Pieces) -> Pieces:
        """Put it, prompt and all, in front of the first bytes."""
        if self._over or not pieces:
            return pieces
        self._over = True
        return [(pieces[0][0], b"41 0C 0B 1E \r\r>"), *pieces]


class SlowRestart(Character):
    """A restart takes more than a second; what is sent meanwhile is lost."""

    name = "slow-restart"
    about = "a restart takes 1.4 s, and what is sent meanwhile is lost"
    takes_s = 1.4

    def started(self, bench: Host) -> None:
        """Lengthen the restart."""
        super().started(bench)
        bench.adapter.settings = replace(bench.adapter.settings, boot_s=1.4)

    def typed(self, line: str) -> str | None:
        """Take the warm restart for a cold one, as copies do."""
        if line != "ATWS" or self.bench is None:
            return None
        self.bench.adapter.reset("")
        return ""


class StoppedFirst(Character):
    """The first commands after connecting are answered STOPPED."""

    name = "stopped-first"
    about = "the first two commands are answered STOPPED"
    left_at_first: ClassVar[int] = 2

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._left = self.left_at_first

    def typed(self, line: str) -> str | None:
        """Break off the first ones."""
        if self._left <= 0 or not self.strikes(line):
            return None
        self._left -= 1
        return "STOPPED"

    def strikes(self, line: str) -> bool:
        """Tell whether it is about this kind of line."""
        return not is_request(line)


class StoppedSearches(StoppedFirst):
    """The first searches are broken off, because a program sends on too soon."""

    name = "stopped-searches"
    about = "the first two requests are answered STOPPED"
    takes_s = 0.5

    def strikes(self, line: str) -> bool:
        """Requests alone."""
        return is_request(line)


class AlwaysStopped(StoppedSearches):
    """Every request is broken off."""

    name = "always-stopped"
    about = "every request is answered STOPPED"
    refused_as = Cause.ALWAYS_STOPPED
    left_at_first = 10**9


class OkInHalves(Character):
    """'OK' comes in two halves with a pause between."""

    name = "ok-in-halves"
    about = "every OK comes in two halves, 0.15 s apart"
    takes_s = 1.6

    def departing(self, pieces: Pieces) -> Pieces:
        """Cut each OK, and let what follows it wait too."""
        out: Pieces = []
        for at_s, piece in pieces:
            if piece.startswith(b"OK"):
                out += [(at_s, piece[:1]), (at_s + 0.15, piece[1:])]
            else:
                out.append((at_s, piece))
        return out


class LatePrompts(Character):
    """The prompt lags behind every answer to a command."""

    name = "late-prompts"
    about = "the prompt comes 0.12 s after each answer, alone"
    takes_s = 2.4

    def departing(self, pieces: Pieces) -> Pieces:
        """Move the prompt back."""
        return [
            (at_s + 0.12 if piece.endswith(b">") else at_s, piece)
            for at_s, piece in pieces
        ]


class StrayPrompt(Character):
    """A second prompt follows some answers."""

    name = "stray-prompt"
    about = "a second prompt follows right behind each one"

    def departing(self, pieces: Pieces) -> Pieces:
        """Say the prompt twice."""
        return [
            (at_s, piece + b"\r>" if piece.endswith(b">") else piece)
            for at_s, piece in pieces
        ]


class OddLineEnds(Character):
    """Line feeds for carriage returns, empty lines before OK, none before a prompt."""

    name = "odd-line-ends"
    about = "LF instead of CR, empty lines before OK, one end of line before a prompt"

    def departing(self, pieces: Pieces) -> Pieces:
        """Change every end of line."""
        return [(at_s, _odd(piece)) for at_s, piece in pieces]


def _odd(piece: bytes) -> bytes:
    text = piece.replace(b"\r\n", b"\r").replace(b"\r", b"\n")
    return b"\n\n" + text if text.startswith(b"OK") else text


class HangsOnTry(Character):
    """ATTPA0 hangs the adapter until it is unplugged."""

    name = "hangs-on-try"
    about = "ATTP hangs it until it is unplugged"

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._hung = False

    def typed(self, line: str) -> str | None:
        """Notice the command."""
        self._hung = self._hung or line.startswith("ATTP")
        return None

    def departing(self, pieces: Pieces) -> Pieces:
        """Say nothing any more."""
        return [] if self._hung else pieces


class OldChip(Character):
    """An old chip at 9600 baud that knows few commands."""

    name = "old-chip"
    about = "9600 baud, an early version, no ATAT, ATWS and count digit"
    takes_s = 1.5

    def started(self, bench: Host) -> None:
        """Slow the line down and take the later commands away."""
        super().started(bench)
        bench.adapter.settings = replace(
            bench.adapter.settings,
            version="ELM327 v1.0",
            refuses=("AT0", "AT1", "AT2"),
            adaptive=False,
            count_digit=False,
        )
        bench.adapter.set_speed(9600)


class NoRequests(Character):
    """The commands work, every request is answered with '?'."""

    name = "no-requests"
    about = "a copy without a bus chip: ? to every request"
    refused_as = Cause.REQUESTS_REFUSED

    def typed(self, line: str) -> str | None:
        """Refuse requests."""
        return "?" if is_request(line) else None


class HalfSaid(Character):
    """The first answer to a request stops in the middle, without a prompt."""

    name = "half-said"
    about = "the first request's answer stops in the middle, no prompt comes"
    takes_s = 2.5

    def __init__(self, *, seed: int = 0) -> None:
        super().__init__(seed=seed)
        self._state = "waiting"

    def typed(self, line: str) -> str | None:
        """Begin to stop short with the first request, end with the next line."""
        if self._state == "waiting" and is_request(line):
            self._state = "cutting"
        elif self._state == "cutting":
            self._state = "over"
        return None

    def departing(self, pieces: Pieces) -> Pieces:
        """Let half of the first line of data through."""
        if self._state != "cutting":
            return pieces
        lines = [p for p in pieces if len(p[1]) > 8 and b"SEARCH" not in p[1]]
        return [(at_s, piece[: len(piece) // 2]) for at_s, piece in lines]


CONNECTING: tuple[type[Character], ...] = (
    QuestionFirst, JunkBytes, RadioFirst, OldAnswer, SlowRestart, StoppedFirst,
    StoppedSearches, AlwaysStopped, OkInHalves, LatePrompts, StrayPrompt, OddLineEnds,
    HangsOnTry, OldChip, NoRequests, HalfSaid,
)  # fmt: skip
