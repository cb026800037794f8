"""What a sheet says of the work stands on the service page where the work is done."""

from __future__ import annotations

from datetime import date

import pytest

from bridge.sheets import parse_sheet
from bridge.units import Units
from bridge.values.service_sheet import StepKind
from tui.service.pages import step_page
from tui.service.pages.page_model import PageView

TEXT = """
[gearbox]
name = "Test gearbox"
source = "invented for tests, first edition"
[level]
window = ["35 degC", "45 degC"]
close_at = "43 degC"
[fluid]
name = "test fluid"
number = "0052-11"
forbidden = ["hydraulic oil"]
rounds = 3
[[part]]
name = "socket"
kind = "tool"
size = "27 mm"
number = "0041-77"
[[fastener]]
name = "pan bolts"
count = 4
sequence = [1, 3, 2, 4]
stages = ["35 in-lb", "6 N*m"]
torque = "8 N*m"
torque_tolerance = "0.8 N*m"
angle = "90 deg"
angle_tolerance = "5 deg"
renew = ["o-ring"]
number = "0041-78"
[[fastener]]
name = "spin-on filter"
hand_tight = true
angle = "180 deg"
step = "filter"
[[fastener]]
name = "sensor screw"
torque = "0.35 N*m"
step = "closing"
[[drain]]
name = "pan"
[interval]
time = "50 days"
look_distance = "30000 km"
look_months = 12
[steps]
fill = ["Fill up."]
licensed_tool = ["Reset of the clutch adaptation."]
"""
SHEET = parse_sheet(TEXT, "test.toml")


@pytest.mark.parametrize(
    ("step", "said"),
    [
        (StepKind.PARTS, ("socket, 27 mm, part number 0041-77",)),
        (
            StepKind.REFIT,
            # NIST SP 811, B.8: 35 lbf in are 3.954 N m
            ("first 4.0 N·m, then 6.0 N·m, then 8.0 ± 0.8 N·m",)
            + ("then 90 ± 5° further", "in the order 1, 3, 2, 4", "new o-ring")
            + ("part number 0041-78",),
        ),
        (StepKind.FILTER, ("hand tight", "then 180° further")),
        (StepKind.CLOSING, ("torque 0.35 N·m (3.1 lbf·in)",)),
        (
            StepKind.FILL,
            ("test fluid, number 0052-11", "Never fill in: hydraulic oil")
            + ("drains and fills 3 times",),
        ),
        (StepKind.LEVEL, ("Close the opening at 43.0 °C",)),
        (StepKind.AFTER, ("With a licensed tool: Reset of the clutch adaptation.",)),
        (StepKind.DUE, ("look at the fluid every 30000 km or 12 months",)),
    ],
)
def test_the_step_says_it(step, said):
    view = PageView(
        sheet=SHEET,
        service=SHEET.service,
        log=(),
        step=step,
        units=Units.METRIC,
        today=date(2025, 1, 1),
    )
    text = "\n".join(getattr(row, "text", "") for row in step_page.rows(view))
    for words in said:
        assert words in text
