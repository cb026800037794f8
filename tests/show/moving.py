"""Draws NO-GO turning to GO as one moving picture, of the program's own screens.

Run from the repository's root: ``python tests/show/moving.py``. Each frame is a screen
as `screens` draws it; CSS shows one after the other, and only the last where the viewer
has asked for no motion.
"""

from __future__ import annotations

import asyncio
import json
import re
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

# The line above comes first: it lets this file run from anywhere.
import screens
from screens import SHEET, WARM_UP, State, draw, told

NAME = "no-go-to-go.svg"
BEFORE_S = (-60.0, -30.0, -10.0, 4.0, 14.0)
"""When the frames are taken: seconds from the moment the window opens."""
EACH_S = 1.4


async def frames(folder: Path) -> list[str]:
    """Return one screen for each moment, as SVG."""
    opens_s = WARM_UP.t_at(SHEET.window.low_c)
    drawn = []
    for number, off_s in enumerate(BEFORE_S):
        story = tuple(told(WARM_UP, opens_s + off_s))
        path = await draw(State(name=f"frame-{number}", story=story), (80, 24), folder)
        drawn.append(path.read_text("utf-8"))
    return drawn


def joined(drawn: list[str]) -> str:
    """Return one SVG that shows them in turn."""
    opening = re.match(r"<svg [^>]*>", drawn[0])
    assert opening is not None
    share = 100 / len(drawn)
    style = (
        f".f{{visibility:hidden;animation:f {len(drawn) * EACH_S:.1f}s step-end"
        " infinite}"
        f"@keyframes f{{0%{{visibility:visible}}{share:.3f}%{{visibility:hidden}}}}"
        "@media (prefers-reduced-motion:reduce){.f{animation:none}"
        ".f:last-of-type{visibility:visible}}"
    )
    parts = [opening[0], f"<style>{style}</style>"]
    for number, svg in enumerate(drawn):
        inside = _shorter(svg[svg.index(">") + 1 : svg.rindex("</svg>")].strip())
        delay = f"animation-delay:{number * EACH_S:.1f}s"
        parts.append(f'<g class="f" style="{delay}">{inside}</g>')
    return "\n".join([*parts, "</svg>\n"])


def _shorter(svg: str) -> str:
    """Leave out what is painted in the ground's own colour, and shorten names."""
    svg = re.sub(r'<rect fill="#10151c" x=[^>]*/>', "", svg)
    svg = svg.replace(' shape-rendering="crispEdges"', "")
    return re.sub(r"terminal-(\d+)", lambda id_: f"t{int(id_[1]) % 46656:x}", svg)


def main() -> None:
    """Draw and join."""
    target = screens.TARGET
    with tempfile.TemporaryDirectory() as name:
        screens.TARGET = Path(name)
        picture = joined(asyncio.run(frames(Path(name))))
    (target / NAME).write_text(picture, encoding="utf-8")
    print(json.dumps({"frames": len(BEFORE_S), "kB": round(len(picture) / 1000)}))


if __name__ == "__main__":
    main()
