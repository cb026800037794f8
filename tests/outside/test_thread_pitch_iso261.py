"""Thread pitch to tube lift to volume, against ISO 261/262 and plain geometry."""

import pytest

from bridge.service.fastening import PITCHES_MM, pitch_mm, tube_lift
from bridge.values.service_sheet import Fastener

# ISO 261 / ISO 262, coarse pitches; M6, M27 and M30 from memory
COARSE = {6: 1.0, 8: 1.25, 10: 1.5, 12: 1.75, 14: 2.0, 16: 2.0, 18: 2.5, 20: 2.5}
COARSE |= {22: 2.5, 24: 3.0, 27: 3.0, 30: 3.5}


def test_coarse_pitches():
    assert {d: PITCHES_MM[d][0] for d in COARSE} == COARSE
    assert {d: pitch_mm(f"M{d}") for d in COARSE} == COARSE


@pytest.mark.parametrize(
    ("thread", "turns", "mm", "ml"),
    [
        # single start: lead = pitch; mL = mm x cm2 / 10, over 500 cm2
        ("M10x1", 1, 1.00, 50.0),
        ("M12x1.25", 1, 1.25, 62.5),
        ("M14x1.5", 0.5, 0.75, 37.5),
        ("M20x1.5", 3, 4.50, 225.0),
        ("M24x2", 1, 2.00, 100.0),
        ("M24", 0.25, 0.75, 37.5),
    ],
)
def test_turns_back(thread, turns, mm, ml):
    tube = Fastener(name="tube", thread=thread, turns_back=turns)
    lift = tube_lift(tube, None, 500.0)
    assert (lift.height_mm, lift.volume_ml) == pytest.approx((mm, ml))
