"""The search for garbage, put off while the program is being loaded.

What is loaded stays: going through it for garbage, again and again as it grows, is a
tenth of the time to the first frame and finds nothing.
"""

from __future__ import annotations

import gc


def begun() -> None:
    """Look for no garbage until ``over`` is called."""
    gc.disable()


def over() -> None:
    """Look for garbage again."""
    gc.enable()
