"""Speaks through the system's own speech command, where there is one.

It never holds anything up: the commands run in a thread of their own, at most one
sentence waits, and a newer one takes its place.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from tui.feeds.called_out import Call, Caller

if TYPE_CHECKING:
    from bridge.snapshot import Snapshot

LONGEST_S = 15.0
"""A command that speaks for longer is ended."""
_POWERSHELL = (
    "Add-Type -AssemblyName System.Speech; "
    "(New-Object System.Speech.Synthesis.SpeechSynthesizer).Speak("
    "$env:SUMPGATE_SAYS)"
)
_COMMANDS: dict[str, tuple[str, ...]] = {
    "say": ("say",),
    "spd-say": ("spd-say", "--wait"),
    "espeak-ng": ("espeak-ng",),
    "espeak": ("espeak",),
    "powershell": ("powershell", "-NoProfile", "-Command", _POWERSHELL),
}


def speech_command(
    platform: str = sys.platform,
    which: Callable[[str], str | None] = shutil.which,
) -> tuple[str, ...] | None:
    """Return the words that start this system's speech command; None: it has none.

    PowerShell takes the sentence from the environment, the others as last argument.
    """
    names = {"darwin": ("say",), "win32": ("powershell",)}
    for name in names.get(platform, ("spd-say", "espeak-ng", "espeak")):
        path = which(name)
        if path:
            return (path, *_COMMANDS[name][1:])
    return None


def speaker() -> Speaker:
    """Return a speaker for this system.

    Raises:
        UsageError: there is no speech command.
    """
    command = speech_command()
    if command is None:
        raise UsageError(
            "--speak finds no speech command here: install spd-say or espeak-ng, "
            "or leave it out"
        )
    return Speaker(command)


class Speaker:
    """A listener (tui.feeds.listeners) that says each call aloud."""

    def __init__(self, command: tuple[str, ...]) -> None:
        self._command = command
        self._caller = Caller()
        self._news = threading.Condition()
        self._next: Call | None = None
        self._closed = False
        self._now: subprocess.Popen[bytes] | None = None
        self._thread = threading.Thread(target=self._run, name="voice", daemon=True)
        self._thread.start()

    def joined(self, loop: asyncio.AbstractEventLoop) -> None:
        """Nothing to do: this voice does not answer."""

    def deliver(self, snapshot: Snapshot) -> None:
        """Have said what the snapshot calls for."""
        call = self._caller.take(snapshot)
        if call is not None:
            self.say(call)

    def ended(self) -> None:
        """Say no more."""
        with self._news:
            self._closed = True
            self._news.notify()
            self._hush()

    def say(self, call: Call) -> None:
        """Have it said next, in place of any that waits; a bell's call cuts in."""
        with self._news:
            if self._next is not None and self._next.bell and not call.bell:
                return  # a call waits: the seconds left may go unsaid
            self._next = call
            if call.bell:
                self._hush()
            self._news.notify()

    def _hush(self) -> None:
        if self._now is not None:
            with contextlib.suppress(OSError):
                self._now.terminate()

    def _run(self) -> None:
        while True:
            with self._news:
                self._news.wait_for(lambda: self._next is not None or self._closed)
                if self._closed or self._next is None:
                    return
                call, self._next = self._next, None
                self._now = self._start(call.text)
            self._finish()

    def _start(self, text: str) -> subprocess.Popen[bytes] | None:
        asks_environment = self._command[-1] == _POWERSHELL
        words = self._command if asks_environment else (*self._command, text)
        try:
            return subprocess.Popen(  # noqa: S603 - a fixed command, no shell
                words,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env={**os.environ, "SUMPGATE_SAYS": text},
            )
        except OSError:
            return None

    def _finish(self) -> None:
        if self._now is None:
            return
        try:
            self._now.wait(LONGEST_S)
        except subprocess.TimeoutExpired:
            self._now.kill()
            self._now.wait()
