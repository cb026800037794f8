"""A sheet's service survives the job file, and nonsense there is refused."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.values.codec import from_plain, to_plain
from bridge.values.service_sheet import (
    Drain,
    Exercise,
    Fastener,
    Interval,
    Part,
    Service,
    Variant,
)
from tests.service.service_help import SERVICE


def test_a_whole_service_comes_back() -> None:
    told = json.loads(json.dumps(to_plain(SERVICE)))
    assert from_plain(Service, told) == SERVICE


@pytest.mark.parametrize("kind", [Variant, Part, Fastener, Drain, Exercise, Interval])
@given(data=st.data())
def test_every_part_of_it_comes_back(kind: type, data: st.DataObject) -> None:
    finite = {"allow_nan": False, "allow_infinity": False}
    st.register_type_strategy(float, st.floats(**finite))
    made = data.draw(st.from_type(kind))
    assert from_plain(kind, json.loads(json.dumps(to_plain(made)))) == made


@pytest.mark.parametrize(
    "told",
    [
        None,
        3,
        [],
        {"order": ["nowhere"]},
        {"order": "cautions"},
        {"parts": [{"name": 3}]},
        {"parts": [{}]},
        {"service_fill_ml": "much"},
        {"service_fill_ml": float("nan")},
        {"exercise": {"positions": ["P"], "hold_s": True}},
        {"lines": [["drain"]]},
    ],
)
def test_what_is_no_service_is_refused(told: object) -> None:
    with pytest.raises(ValueError):
        from_plain(Service, told)


def test_a_key_of_a_newer_version_is_passed_over() -> None:
    assert from_plain(Service, {"fluid_name": "x", "unheard_of": 1}).fluid_name == "x"
