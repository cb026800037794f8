"""A job that goes on: what its file leaves a new watch to begin with."""

from __future__ import annotations

from bridge.level.step.step_values import Step
from bridge.service.log import Log, is_begun
from bridge.values.carried import NOTHING, Carried
from bridge.values.frozen import frozen


@frozen
class TakenUp:
    """A job as its file leaves it, to go on with."""

    told: Log = ()
    """What was told of the service."""
    step: Step | None = None
    """The level step as it was left, by its own clock; None: it was not begun."""
    judged_after: int = 0
    """So much of ``told`` stood there when the level was last judged."""
    left_utc_s: float = 0.0
    """The wall clock at the last thing that is written down."""
    carried: Carried = NOTHING

    @property
    def says(self) -> str:
        """What the person is told of it; '' for a job that begins."""
        lines = []
        if is_begun(self.told):
            lines.append("The service goes on where it was left (key j).")
        if self.step is not None and (self.step.confirmed or self.step.past):
            out = self.step.plug_open
            then = (
                "the level plug is out, mark it closed" if out else "r starts it over"
            )
            lines.append(f"The level step goes on where it was left: {then}.")
        return " ".join(lines)


NEW = TakenUp()
"""A job that begins."""
