"""Snapshots and sheets no honest monitor would send, for property tests."""

from __future__ import annotations

from hypothesis import strategies as st

from bridge.snapshot import Snapshot
from bridge.values.conditions import (
    Condition,
    ConditionName,
    ConditionState,
    Reason,
    Verdict,
)
from bridge.values.outlook import Crossing, Outlook, Passed, Trend
from bridge.values.readings import LinkState
from bridge.values.sheet import EngineRule, LevelMethod, Sheet, Window
from tests.tui.stage import WARM_UP

GO = WARM_UP.snapshot(WARM_UP.t_at(45.0))

odd_floats = st.one_of(
    st.none(),
    st.floats(allow_nan=True, allow_infinity=True),
    st.sampled_from([0.0, -0.0, 35.0, 45.0, 1e300, -1e300, 1e-320, 3600.0]),
)
crossings = st.one_of(
    st.none(),
    st.builds(
        Crossing,
        p05_s=odd_floats,
        p50_s=odd_floats,
        p95_s=odd_floats,
        chance=st.floats(allow_nan=True),
    ),
)
conditions = st.lists(
    st.builds(
        Condition,
        name=st.sampled_from(ConditionName),
        state=st.sampled_from(ConditionState),
        reasons=st.lists(st.sampled_from(Reason), max_size=3).map(tuple),
    ),
    max_size=8,
).map(tuple)
snapshots = st.builds(
    Snapshot,
    t_s=st.floats(allow_nan=True),
    link=st.sampled_from(LinkState),
    link_detail=st.text(),
    temp_c=odd_floats,
    temp_sd_c=odd_floats,
    raw_c=odd_floats,
    age_s=odd_floats,
    rate_c_per_s=odd_floats,
    trend=st.sampled_from(Trend),
    verdict=st.sampled_from(Verdict),
    reasons=st.lists(st.sampled_from(Reason), max_size=4).map(tuple),
    conditions=st.one_of(conditions, st.just(GO.conditions)),
    opens=crossings,
    shuts=crossings,
    outlook=st.sampled_from(Outlook),
    figures_in_s=odd_floats,
    passed=st.none()
    | st.builds(Passed, edge_c=odd_floats, ago_s=odd_floats, back=crossings),
    settles_at_c=odd_floats,
    stay_chance=odd_floats,
    engine_rpm=odd_floats,
    speed_kmh=odd_floats,
    coolant_c=odd_floats,
    ambient_c=odd_floats,
    voltage_v=odd_floats,
    selector=st.one_of(st.none(), st.text()),
)
sheets = st.builds(
    Sheet,
    name=st.text(),
    source=st.text(),
    window=st.builds(
        Window,
        low_c=st.floats(allow_nan=True),
        high_c=st.floats(allow_nan=True),
    ),
    settle_time_s=st.floats(allow_nan=True),
    idle_low_rpm=st.floats(allow_nan=True),
    idle_high_rpm=st.floats(allow_nan=True),
    engine=st.sampled_from(EngineRule),
    method=st.sampled_from(LevelMethod),
    cautions=st.lists(st.text(), max_size=3).map(tuple),
    steps=st.lists(st.text(), max_size=3).map(tuple),
)
