"""What a day's run leaves to CI, where everything runs."""

from __future__ import annotations

import os

from hypothesis import settings

EVERYTHING = os.environ.get("CI", "").lower() in ("1", "true")
A_DAYS = 25
"""Random examples of a property in a day's run, at most."""


def examples(most: int) -> settings:
    """Return how many random examples a property gets: all of them in CI."""
    return settings(max_examples=most if EVERYTHING else min(most, A_DAYS))
