"""What a day's run leaves to CI: cases beyond a few, most of the random examples, and
drawing what nobody looks at.

No property test has a time limit: the machine's load would decide.
"""

from __future__ import annotations

import asyncio
import gc
from collections import defaultdict
from collections.abc import Iterator

import pytest
from hypothesis import settings

from tests.everyday import A_DAYS, EVERYTHING

settings.register_profile(
    "here", deadline=None, max_examples=100 if EVERYTHING else A_DAYS
)
settings.load_profile("here")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark as slow what goes beyond the few cases a test asks for, evenly picked."""
    cases: dict[str, list[pytest.Item]] = defaultdict(list)
    for item in items:
        if item.get_closest_marker("few") is not None:
            cases[item.nodeid.partition("[")[0]].append(item)
    for of_one in cases.values():
        mark = of_one[0].get_closest_marker("few")
        assert mark is not None
        share = min(1.0, mark.args[0] / len(of_one))
        for number, item in enumerate(of_one):
            if number and int(number * share) == int((number - 1) * share):
                item.add_marker(pytest.mark.slow)


def pytest_collection_finish() -> None:
    """Spare the collector what lives to the end: all that was imported and collected.

    It went through it again and again, a sixth of the processor time of a day's tests.
    """
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session", autouse=True)
def pressed_and_done() -> Iterator[None]:
    """Let a key be done with when every queue is, not when the processor falls idle.

    Textual sleeps at least 40 ms after each key, more on a busy machine: longer than
    most keys take.
    """
    import textual.app
    from textual.pilot import Pilot

    async def rest(*_: object) -> None:
        for _step in range(5):  # from the driver into the app's queue
            await asyncio.sleep(0)

    async def press(pilot: Pilot[object], *keys: str) -> None:
        for key in keys:
            await pilot.app._press_keys((key,))
            for _hop in ("app to screen", "screen to widget", "what it asks for"):
                await pilot.pause(0)
            await pilot.app.animator.wait_until_complete()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(textual.app, "wait_for_idle", rest)
        patch.setattr(Pilot, "press", press)
        yield


@pytest.fixture(scope="session", autouse=not EVERYTHING)
def drawn_when_looked_at() -> Iterator[None]:
    """Draw a screen without a terminal only when a test looks at it.

    Textual works out each change of it for nobody, half of what such a test costs.
    """
    from textual._compositor import Compositor

    drawn = Compositor.render_update

    def update(of: Compositor, full: bool = False, *args, **more):
        if full:  # somebody takes a picture
            return drawn(of, full, *args, **more)
        of._dirty_regions.clear()
        return None

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Compositor, "render_update", update)
        yield
