"""What was left out on the command line, and can be chosen on the start screen."""

from __future__ import annotations

from bridge.values.errors import SumpgateError


class GapError(SumpgateError):
    """A sheet or a port is missing; without a terminal it is an error like others."""

    def __init__(self, problem: SumpgateError, *, sheet: str = "") -> None:
        """``sheet``: the one that was named, if one was."""
        super().__init__(str(problem))
        self.exit_code = problem.exit_code
        self.sheet = sheet
