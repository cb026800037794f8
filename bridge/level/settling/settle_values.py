"""The values of the running down: how marks are read, and how it stands.

Apart from the reckoning, so that a screen can name them without loading NumPy.
"""

from __future__ import annotations

from bridge.level.settling.settle_time import SettleTime
from bridge.values.frozen import frozen


@frozen
class DripRule:
    """What counts as settled, and how marks are read."""

    settled_rate_per_s: float = 1.0
    """Settled below so many drops a second (common practice: 'breaks into drips')."""
    drop_ml: float = 0.05
    """About twenty drops to the mL (common practice, no source)."""
    tube_s: float = 3.0
    """What comes so soon after opening stood in the tube: never surplus."""
    dead_s: float = 0.15
    """A second mark this soon is the same key press."""
    pulse_period_s: float | None = None
    """Time between the gearbox's own pulses, if the sheet knows; None: look for it."""
    sure: float = 0.5
    """Settled is called when it is at least this likely."""


USUAL_RULE = DripRule()


@frozen
class Marks:
    """What the person saw since opening; all times in s since opening."""

    drips_s: tuple[float, ...] = ()
    """In rising order."""
    streaming_s: float | None = None
    """When it was last said to be a stream still; None: never."""
    blind_s: tuple[tuple[float, float], ...] = ()
    """Spans in which nothing could be marked: a crash, a restart."""


@frozen
class Settling:
    """How the running down stands."""

    settle: SettleTime
    settled_chance: float
    """Chance, 0..1, that the rate is below the criterion now."""
    timer_only: bool
    """True: nothing was marked, this is the sheet's time and nothing more."""
    rate_per_s: float | None
    """Drops a second now; None without marks."""
    more_ml: float | None
    """About what still comes until it has settled; None without marks."""
    pulse_period_s: float | None = None
    """Time between pulses that were found and left out; None: none found."""
