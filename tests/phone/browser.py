"""Debian's Chromium without a window, driven by Selenium, as a phone."""

from __future__ import annotations

import importlib.util
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
)
PORTRAIT, LANDSCAPE = (390, 844), (844, 390)


def missing() -> str:
    """Say what a browser test needs and is not here; '' if all is."""
    for name in ("chromium", "chromedriver"):
        if shutil.which(name) is None:
            return f"no {name} here: apt-get install chromium chromium-driver"
    if importlib.util.find_spec("selenium") is None:
        return "no selenium here: pip install -e '.[dev]'"
    return ""


@contextmanager
def phone(size: tuple[int, int] = PORTRAIT) -> Iterator[Chrome]:
    """Give a browser of a phone's size with a new profile."""
    from selenium.webdriver import Chrome, ChromeOptions
    from selenium.webdriver.chrome.service import Service

    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        options = ChromeOptions()
        options.binary_location = shutil.which("chromium") or ""
        for flag in (*FLAGS, f"--user-data-dir={profile}"):
            options.add_argument(flag)
        service = Service(executable_path=shutil.which("chromedriver"))
        driver = Chrome(options=options, service=service)
        try:
            driver.set_script_timeout(20)
            resize(driver, size)
            yield driver
        finally:
            driver.quit()


def resize(driver: Chrome, size: tuple[int, int], scale: float = 2) -> None:
    """Turn the phone, or make it another."""
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {
            "width": size[0],
            "height": size[1],
            "deviceScaleFactor": scale,
            "mobile": True,
        },
    )


def pair(driver: Chrome, address: str) -> None:
    """Open the address and touch the button."""
    from selenium.webdriver.common.by import By

    driver.get(address)
    driver.find_element(By.ID, "touch").click()
    until(
        lambda: driver.execute_script("return document.getElementById('start').hidden")
    )


def seen(driver: Chrome) -> dict[str, Any]:
    """Return what the page shows."""
    told: dict[str, Any] = driver.execute_script(
        """
        const text = (id) => document.getElementById(id).textContent;
        return { look: document.body.className, word: text("word"), do: text("do"),
          why: text("why"), number: text("number"), trend: text("trend"),
          main: text("main"), dead: document.getElementById("main").disabled,
          others: [...document.querySelectorAll("#others button")].map(
            (b) => b.dataset.mark),
          said: text("said"), standing: text("standing"),
          opens: document.getElementById("opens").textContent,
          shuts: document.getElementById("shuts").textContent,
          sounded: document.body.dataset.sounded || "",
          spoken: document.body.dataset.spoken || "",
          awake: document.body.dataset.awake || "" };
        """
    )
    return told


def press(driver: Chrome, selector: str) -> None:
    """Put a thumb on a button, as the browser itself would report it."""
    where = driver.execute_script(
        "const r = document.querySelector(arguments[0]).getBoundingClientRect();"
        "return [r.x + r.width / 2, r.y + r.height / 2];",
        selector,
    )
    point = {"x": where[0], "y": where[1]}
    for kind, points in (("touchStart", [point]), ("touchEnd", [])):
        driver.execute_cdp_cmd(
            "Input.dispatchTouchEvent", {"type": kind, "touchPoints": points}
        )


def drag(driver: Chrome, selector: str, by_px: float) -> None:
    """Put a thumb on something and pull it up or down."""
    where = driver.execute_script(
        "const r = document.querySelector(arguments[0]).getBoundingClientRect();"
        "return [r.x + r.width / 2, r.y + r.height / 2];",
        selector,
    )
    steps = [where[1] + by_px * n / 6 for n in range(7)]
    kinds = ["touchStart", *["touchMove"] * 6]
    for kind, y in zip(kinds, steps, strict=True):
        point = {"x": where[0], "y": y}
        driver.execute_cdp_cmd(
            "Input.dispatchTouchEvent", {"type": kind, "touchPoints": [point]}
        )
    driver.execute_cdp_cmd(
        "Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []}
    )


def until(ready: Callable[[], object], limit_s: float = 30.0) -> None:
    """Wait for something to become true."""
    end_s = time.monotonic() + limit_s
    while not ready():
        if time.monotonic() > end_s:
            raise TimeoutError("it did not come to pass")
        time.sleep(0.02)
