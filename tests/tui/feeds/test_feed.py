"""The mailbox between the monitor's thread and the screen's."""

from __future__ import annotations

import subprocess
import sys

from tests.tui.stage import WARM_UP
from tui.feeds.feed import Mailbox
from tui.feeds.monitor_feed import MonitorCommands
from tui.inputs.answers import Refused


def test_one_wake_up_until_it_is_read_and_the_newest_kept() -> None:
    wakes: list[int] = []
    mail = Mailbox(lambda: wakes.append(1))
    first, second, third = (WARM_UP.snapshot(float(t)) for t in (1, 2, 3))
    mail.deliver(first)
    mail.deliver(second)
    assert len(wakes) == 1
    assert mail.take() == (second, "")
    assert mail.take() == (None, "")
    mail.deliver(third)
    assert len(wakes) == 2
    assert mail.take() == (third, "")


def test_a_failure_stays_known_and_never_lacks_words() -> None:
    mail = Mailbox(lambda: None)
    mail.fail("")
    assert mail.take()[1]
    assert mail.take()[1]


def test_a_closed_loop_on_the_other_side_is_no_error() -> None:
    def closed() -> None:
        raise RuntimeError("Event loop is closed")

    mail = Mailbox(closed)
    mail.deliver(WARM_UP.snapshot(1.0))


def test_the_way_to_the_first_frame_imports_nothing_heavy() -> None:
    heavy = ("pint", "obd", "numpy", "serial", "sqlite3")
    code = f"import sys, tui.live.app; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_a_simulated_cars_lever_goes_only_where_there_is_a_place() -> None:
    put: list[str] = []
    commands = MonitorCommands()
    assert commands.bench("lever Q") is False  # a real car: no word of ours
    commands.lever, commands.places = put.append, ("P", "D")
    assert commands.bench("lever d") is True
    for wrong in ("lever Q", "lever", "lever P D"):
        said = commands.bench(wrong)
        assert isinstance(said, Refused)
        assert said.words.endswith("only P, D.")
    assert put == ["D"]
