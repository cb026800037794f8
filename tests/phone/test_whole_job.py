"""The page follows a whole demo job in a real browser, and the laptop's end."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.phone.browser import missing, pair, phone, seen, until
from tests.phone.job import demo_job, follow

pytestmark = [
    pytest.mark.skipif(bool(missing()), reason=missing() or "-"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.xdist_group("browser"),
]


@pytest.mark.slow
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


@pytest.mark.slow
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
