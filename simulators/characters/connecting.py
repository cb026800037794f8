"""Characters that show while a program connects: banners, prompts, commands."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.values.causes import Cause
from simulators.adapter.hooks import variant
from simulators.characters.character import COMMAND, REQUEST, Answering, Character

if TYPE_CHECKING:
    from simulators.adapter.hooks import Pieces


class _QuestionFirst(Character):
    name = "question-first"
    about = "a line with ? before the banner, at every restart"

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        return ready_s, b"?\r\r" + data if data.startswith(b"ELM") else data


class _JunkBytes(Character):
    name = "junk-bytes"
    about = "FC and NUL bytes before the banner and at the ends of lines"

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        is_line = len(data) > 2 and data.endswith(b"\r")
        return ready_s, b"\xfc\x00" + data[:-1] + b"\x00\r" if is_line else data


class _RadioFirst(Character):
    name = "radio-first"
    about = "a connect notice comes first, and the first command is answered with ?"
    _greeted = False

    def typed(self, line: str) -> str | None:  # noqa: ARG002 - whichever it is
        if self._greeted:
            return None
        self._greeted = True
        self.bench.adapter.say("+LINK 0A1B,UP")
        self.bench.adapter.say("CONNECTED")
        return "?"


class _OldAnswer(Character):
    name = "old-answer"
    about = "an old answer of another program comes with the first one"
    _over = False

    def departing(self, pieces: Pieces) -> Pieces:
        if self._over or not pieces:
            return pieces
        self._over = True
        return [(pieces[0][0], b"41 0C 0B 1E \r\r>"), *pieces]


class _SlowRestart(Character):
    name = "slow-restart"
    about = "a restart takes 1.4 s, and what is sent meanwhile is lost"
    takes_s = 1.4

    def started(self) -> None:
        adapter = self.bench.adapter
        adapter.settings = replace(adapter.settings, boot_s=self.takes_s)

    def typed(self, line: str) -> str | None:
        """Take the warm restart for a cold one, as copies do."""
        if line != "ATWS":
            return None
        self.bench.adapter.reset("")
        return ""


class _OkInHalves(Character):
    name = "ok-in-halves"
    about = "every OK comes in two halves, 0.15 s apart"
    takes_s = 1.6

    def departing(self, pieces: Pieces) -> Pieces:
        out: Pieces = []
        for at_s, piece in pieces:
            if piece.startswith(b"OK"):
                out += [(at_s, piece[:1]), (at_s + 0.15, piece[1:])]
            else:
                out.append((at_s, piece))
        return out


class _LatePrompts(Character):
    name = "late-prompts"
    about = "the prompt comes 0.12 s after each answer, alone"
    takes_s = 2.4

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        return ready_s + 0.12 if data.endswith(b">") else ready_s, data


class _StrayPrompt(Character):
    name = "stray-prompt"
    about = "a second prompt follows right behind each one"

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        return ready_s, data + b"\r>" if data.endswith(b">") else data


class _OddLineEnds(Character):
    name = "odd-line-ends"
    about = "LF instead of CR, empty lines before OK, one end of line before a prompt"

    def piece(self, ready_s: float, data: bytes) -> tuple[float, bytes]:
        text = data.replace(b"\r\n", b"\r").replace(b"\r", b"\n")
        return ready_s, b"\n\n" + text if text.startswith(b"OK") else text


class _HangsOnTry(Character):
    name = "hangs-on-try"
    about = "ATTP hangs it until it is unplugged"
    _hung = False

    def typed(self, line: str) -> str | None:
        self._hung = self._hung or line.startswith("ATTP")
        return None

    def departing(self, pieces: Pieces) -> Pieces:
        return [] if self._hung else pieces


class _OldChip(Character):
    name = "old-chip"
    about = "9600 baud, an early version, no ATAT, ATWS and count digit"
    takes_s = 1.5

    def started(self) -> None:
        adapter = self.bench.adapter
        adapter.settings = replace(
            adapter.settings,
            version="ELM327 v1.0",
            refuses=("AT0", "AT1", "AT2"),
            adaptive=False,
            count_digit=False,
        )
        adapter.set_speed(9600)


class _HalfSaid(Character):
    name = "half-said"
    about = "the first request's answer stops in the middle, no prompt comes"
    takes_s = 2.5
    _state = "waiting"

    def typed(self, line: str) -> str | None:
        """Begin to stop short with the first request, end with the next line."""
        if self._state == "waiting" and re.fullmatch(REQUEST, line):
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
    _QuestionFirst,
    _JunkBytes,
    _RadioFirst,
    _OldAnswer,
    _SlowRestart,
    variant(
        Answering, "stopped-first", "the first two commands are answered STOPPED",
        pattern=COMMAND, text="STOPPED", times=2,
    ),
    variant(
        Answering, "stopped-searches", "the first two requests are answered STOPPED",
        text="STOPPED", times=2, takes_s=0.5,
    ),
    variant(
        Answering, "always-stopped", "every request is answered STOPPED",
        text="STOPPED", takes_s=0.5, refused_as=Cause.ALWAYS_STOPPED,
    ),
    _OkInHalves,
    _LatePrompts,
    _StrayPrompt,
    _OddLineEnds,
    _HangsOnTry,
    _OldChip,
    variant(
        Answering, "no-requests", "a copy without a bus chip: ? to every request",
        refused_as=Cause.REQUESTS_REFUSED,
    ),
    _HalfSaid,
)  # fmt: skip
