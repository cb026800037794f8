"""How long fluid cools with the engine off, told before it is switched off. Pure.

No reading tells of a cooling that has not begun: this is what gearboxes do. Losses
follow Newton's law of cooling with a time constant that differs from car to car; the
shares are those of simulated gearboxes stopped while they idle (docs/forecast.md).
"""

from __future__ import annotations

import math

from bridge.values.outlook import HORIZON_S, Crossing

TIME_CONSTANT_S = (700.0, 2600.0, 9000.0)
"""One simulated gearbox in twenty is quicker, half are, one in twenty is slower."""
USUAL_AMBIENT_C = 20.0
LEAST_ABOVE_C = 2.0
"""Fluid hardly falls to a level closer to the air's temperature than this."""


def cools_back(
    temp_c: float, goal_c: float, ambient_c: float | None
) -> Crossing | None:
    """Return when fluid at ``temp_c`` is down to ``goal_c`` once the engine is off.

    Without the air's temperature a usual one is taken, and the times are spread
    wider. None: it will not come down by itself.
    """
    air_c = USUAL_AMBIENT_C if ambient_c is None else ambient_c
    if not goal_c - air_c > LEAST_ABOVE_C or temp_c < goal_c:
        return None
    share = math.log((temp_c - air_c) / (goal_c - air_c))
    doubt = 1.25 if ambient_c is None else 1.0
    early, middle, late = (share * tau_s for tau_s in TIME_CONSTANT_S)
    late *= doubt
    return Crossing(
        p05_s=early / doubt,
        p50_s=middle if middle <= HORIZON_S else None,
        p95_s=late if late <= HORIZON_S else None,
        chance=0.95 if late <= HORIZON_S else 0.5,
    )
