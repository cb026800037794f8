"""Contrast of every text on the page, as the browser has computed it.

Source: W3C, Web Content Accessibility Guidelines 2, definitions of relative luminance
and contrast ratio; success criterion 1.4.6 (enhanced) asks for 7:1.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

_TEXTS = """
const seen = [];
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walker.nextNode()) {
  const node = walker.currentNode, holder = node.parentElement;
  if (!node.textContent.trim() || !holder.checkVisibility()) continue;
  let ground = holder, opaque = 1;
  const clear = (c) => c === "rgba(0, 0, 0, 0)" || c === "transparent";
  for (let up = holder; up; up = up.parentElement)
    opaque *= Number(getComputedStyle(up).opacity);
  while (ground && clear(getComputedStyle(ground).backgroundColor))
    ground = ground.parentElement;
  const behind = ground ? getComputedStyle(ground) : null;
  seen.push([node.textContent.trim(), getComputedStyle(holder).color,
    behind ? behind.backgroundColor : "rgb(255, 255, 255)",
    behind ? behind.backgroundImage : "none", opaque]);
}
return seen;
"""


def luminance(rgb: tuple[float, float, float]) -> float:
    """Return the relative luminance of an sRGB colour of 0..255 a channel."""
    red, green, blue = (
        c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4
        for c in rgb
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def ratio(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    """Return the contrast ratio of two colours, 1 to 21."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def colour(text: str) -> tuple[float, float, float]:
    """Read a computed colour; ValueError if it is not opaque."""
    numbers = [float(n) for n in re.findall(r"[\d.]+", text)]
    if len(numbers) == 4 and numbers[3] != 1:
        raise ValueError(f"{text} is not opaque")
    return numbers[0], numbers[1], numbers[2]


def contrasts(driver: Chrome) -> dict[str, float]:
    """Return the contrast of each text that shows now; a picture behind is an error."""
    found: dict[str, float] = {}
    for text, ink, ground, picture, opaque in driver.execute_script(_TEXTS):
        if picture != "none" or opaque != 1:
            raise ValueError(f"{text!r} does not stand on one flat ground")
        found[text] = ratio(colour(ink), colour(ground))
    return found
