"""The page follows a whole demo job in a real browser, and the laptop's end."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.phone.browser import missing, pair, phone, press, seen, until
from tests.phone.job import DemoJob, demo_job

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

pytestmark = [
    pytest.mark.skipif(bool(missing()), reason=missing() or "-"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.xdist_group("browser"),
]


def follow(browser: Chrome, job: DemoJob) -> list[str]:
    """Do the job with the thumb alone; return the phases, as the program tells them."""

    def ready(main: str) -> bool:
        shown = seen(browser)
        return str(shown["main"]).startswith(main) and not shown["dead"]

    until(lambda: ready("OPENED") and seen(browser)["word"] == "GO", 90)
    press(browser, "#main")
    until(lambda: ready("DRIP"))
    for _ in range(3):
        press(browser, "#main")
        time.sleep(0.3)
    until(lambda: ready("CLOSED"), 90)
    press(browser, "#main")
    until(lambda: seen(browser)["do"].startswith(("Check for leaks", "Read what")))
    steps = [line["step"]["phase"] for line in job.lines]
    return list(dict.fromkeys(steps))


def test_a_whole_job_by_thumb(tmp_path: Path) -> None:
    with (
        demo_job(tmp_path, "--scene", "warm-day", "--speed", "5") as job,
        phone() as browser,
    ):
        pair(browser, job.address)
        phases = follow(browser, job)
        assert phases[-1] == "judged"
        assert "running-down" in phases
        assert "go" in phases
        step = job.last["step"]
        assert step["marks"] >= 2
        assert step["judgement"]["opened_c"] is not None
        assert "×5 bench" in browser.find_element("id", "source").text


def test_a_laptop_that_stops_is_no_go_and_one_that_goes_on_comes_back(
    tmp_path: Path,
) -> None:
    with (
        demo_job(tmp_path, "--scene", "warm-day", "--speed", "1") as job,
        phone() as browser,
    ):
        pair(browser, job.address)
        until(lambda: seen(browser)["look"] in ("go", "stop", "go hurry"))
        job.freeze()  # nothing arrives, and nothing is closed
        until(lambda: seen(browser)["look"] == "lost")
        shown = seen(browser)
        assert shown["word"] == "NO-GO"
        assert shown["do"] == "No contact with the laptop"
        assert shown["number"] == "--.-"
        assert shown["dead"]
        assert shown["others"] == []
        job.thaw()
        until(lambda: seen(browser)["look"] != "lost")
        job.kill()
        until(lambda: seen(browser)["look"] == "lost")
        assert seen(browser)["word"] == "NO-GO"
        assert "--" in seen(browser)["opens"]
