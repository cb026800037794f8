"""What the keys of one section must be among one another."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import partial
from itertools import pairwise

from bridge.level.viscosity import Fluid
from bridge.sheets.reading.findings import SectionRead
from bridge.sheets.reading.values import check_once
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import OPEN_C

Check = Callable[[SectionRead], None]


def section_checks(
    sections: Mapping[str, tuple[SectionRead, ...]],
) -> Iterator[Callable[[], None]]:
    """Yield every check of every section; none minds a mistake in a single key."""
    for section, checks in _CHECKS.items():
        for one in sections[section]:
            for check in checks:
                yield partial(check, one)


def _viscosities(section: SectionRead) -> None:
    both = ("viscosity_40", "viscosity_100")
    for key, other in (both, both[::-1]):
        if section.has(other) and not section.has(key):
            raise section.table.mistake(
                key, "is missing; give both from the fluid's data sheet, or neither"
            )
    thick, thin = (section.get(key) for key in both)
    if thick is None or thin is None:
        return
    try:
        Fluid(at_40_mm2_s=thick, at_100_mm2_s=thin)
    except ValueError:
        raise section.table.mistake(
            "viscosity_40", "is not above viscosity_100; exchange the two"
        ) from None


def _service_fill(section: SectionRead) -> None:
    for key in ("service_fill_tolerance", "service_fill_temp"):
        if section.has(key) and not section.has("service_fill"):
            raise section.table.mistake(
                key, "stands without service_fill; add that or take it out"
            )
    _smaller(section, "service_fill_tolerance", "service_fill", "service_fill")


def _smaller(section: SectionRead, key: str, other: str, words: str) -> None:
    small, large = section.get(key), section.get(other)
    if small is not None and large is not None and small >= large:
        raise section.table.mistake(
            key, f"is no smaller than {words}; correct one of the two"
        )


def _instead(section: SectionRead) -> None:
    if section.has("instead") and section.held("fits"):
        raise section.table.mistake(
            "instead",
            "is for a variant that the sheet does not fit; add fits = false or take "
            "it out",
        )


def _hand_tight(section: SectionRead) -> None:
    for key in ("torque", "torque_tolerance", "stages"):
        if section.get("hand_tight") and section.has(key):
            raise section.table.mistake(
                key, "stands beside hand_tight = true; take one of the two out"
            )


def _after_torque(section: SectionRead) -> None:
    for key in ("torque_tolerance", "angle", "stages"):
        by_hand = section.get("hand_tight") is not False and section.has("hand_tight")
        if section.has(key) and not section.has("torque") and not by_hand:
            raise section.table.mistake(
                key, "has no torque beside it; add torque or take it out"
            )
    _smaller(section, "torque_tolerance", "torque", "the torque")


def _angle(section: SectionRead) -> None:
    if section.has("angle_tolerance") and not section.has("angle"):
        raise section.table.mistake(
            "angle_tolerance", "has no angle beside it; add angle or take it out"
        )
    _smaller(section, "angle_tolerance", "angle", "the angle")


def _stages(section: SectionRead) -> None:
    rising = [*(section.get("stages") or ()), section.get("torque")]
    for before, after in pairwise(nm for nm in rising if nm is not None):
        if before >= after:
            raise section.table.mistake(
                "stages", "do not rise up to the torque; write them in their order"
            )


def _sequence(section: SectionRead) -> None:
    sequence, count = section.get("sequence"), section.held("count")
    if not sequence or count is None:
        return
    if sorted(sequence) != list(range(1, count + 1)):
        raise section.table.mistake(
            "sequence",
            f"does not name each of the {count} there are once; number them from 1 "
            f"to {count}, or correct count",
        )


def _close_at(section: SectionRead) -> None:
    at, window = section.get("close_at"), section.get("window")
    if at is not None and window is not None and not window[0] <= at <= window[1]:
        raise section.table.mistake(
            "close_at", "lies outside the window; correct one of the two"
        )


def _no_level_step(section: SectionRead) -> None:
    refill = section.held("method") == "measured-refill"
    for key in (
        "window",
        "close_at",
        "settle_time",
        "drop_rate",
        "selector",
        "tilt_limit",
    ):
        if refill and section.has(key):
            raise section.table.mistake(
                key,
                'is of a level step, and method = "measured-refill" has none; take one '
                "of the two out",
            )


def check_refill(sections: Mapping[str, tuple[SectionRead, ...]]) -> None:
    """Refuse a measured refill that has a level step, or nothing to measure by."""
    level = sections["level"]
    if not level or level[0].held("method") != "measured-refill":
        return
    order = sections["steps"][0].get("order") or ()
    if StepKind.LEVEL in order:
        raise sections["steps"][0].table.mistake(
            "order",
            'has "level", and method = "measured-refill" has no level step; take one '
            "of the two out",
        )
    if not {StepKind.DRAIN, StepKind.FILL} <= set(order):
        raise level[0].table.mistake(
            "method",
            'is measured-refill, which needs "drain" and "fill" in the order of '
            "[steps]; add them",
        )


def check_air_windows(sections: Mapping[str, tuple[SectionRead, ...]]) -> None:
    """Refuse windows by the air that contradict one another, or [level]."""
    rows, level = sections["window"], sections["level"]
    if not rows or not level:
        return
    for key in ("window", "close_at"):
        if level[0].has(key):
            raise level[0].table.mistake(
                key,
                "stands beside [[window]], which gives the window by the air; take one "
                "of the two out",
            )
    if level[0].held("method") == "measured-refill":
        raise rows[0].table.mistake(
            "window",
            'is of a level step, and method = "measured-refill" has none; take one of '
            "the two out",
        )
    read = [(one, air) for one in rows if (air := one.get("ambient"))]
    for (_, before), (one, air) in pairwise(read):
        if air[0] < before[1]:
            raise one.table.mistake(
                "ambient",
                "reaches into the row before it, so that two windows would hold; write "
                "the rows from the coldest air on, each from where the last one ends",
            )


def check_circuits(sections: Mapping[str, tuple[SectionRead, ...]]) -> None:
    """Refuse circuits that could mix: each place and each level is of one of them."""
    names = [one.get("name") for one in sections["circuit"]]
    if len(names) == 1:
        raise sections["circuit"][0].table.mistake(
            "name",
            "is of the only circuit, and one fluid alone is the sheet's own; write its "
            "figures in [fluid], [sump] and [filter], or add the other [[circuit]]",
        )
    setting = [one for one in sections["phase"] if one.held("ends") == "level"]
    for one in (*sections["drain"], *setting):
        _of_circuit(one, names)
    if not names:
        return
    for section in ("fluid", "sump", "filter"):
        _no_circuits_own(sections[section])
    levels = {one.get("circuit") for one in setting}
    for one in sections["circuit"]:
        if names.count(one.get("name")) > 1 or one.get("name") not in levels:
            raise one.table.mistake(
                "name",
                "needs a name of its own and a [[phase]] that sets its level; add one",
            )


def _no_circuits_own(circuits: tuple[SectionRead, ...]) -> None:
    for one in circuits:
        for key in tuple(one.table.entries)[:1]:
            raise one.table.mistake(
                key,
                "stands beside [[circuit]], which has its own fluid and amounts; move "
                "it there or take it out",
            )


def _of_circuit(one: SectionRead, names: list[str]) -> None:
    if one.get("circuit") in names or not (names or one.has("circuit")):
        return
    listed = ", ".join(str(name) for name in names)
    raise one.table.mistake(
        "circuit",
        f"names no circuit of this sheet; write one of {listed}"
        if names
        else "names a circuit, and the sheet has none; add [[circuit]] or take it out",
    )


def check_phases(sections: Mapping[str, tuple[SectionRead, ...]]) -> None:
    """Refuse phases that cannot be led one after the other up to a level."""
    level, phases = sections["level"], sections["phase"]
    if not phases or not level:
        return
    if level[0].held("method") == "measured-refill":
        raise phases[0].table.mistake(
            "name",
            'is a phase of a level, and method = "measured-refill" sets none; take one '
            "of the two out",
        )
    names = [one.get("name") for one in phases]
    for one in phases:
        if names.count(one.get("name")) > 1:
            raise one.table.mistake(
                "name", "is that of another phase too; give each a name of its own"
            )
        _one_phase(one, level[0])
    if phases[-1].held("ends") != "level":
        raise phases[-1].table.mistake(
            "ends", 'is not "level" in the last phase; the last one sets the level'
        )


def _one_phase(one: SectionRead, level: SectionRead) -> None:
    ends = one.held("ends")
    window = one.get("window") or level.get("window")
    for key in ("method", "close_at", "settle_time"):
        if ends != "level" and one.has(key):
            raise one.table.mistake(
                key, f'is of a level, and ends = "{ends}" sets none; take it out'
            )
    needs = ends == "warm" or one.get("method") == "stick" or one.has("close_at")
    if window == (-OPEN_C, OPEN_C) and needs:
        raise one.table.mistake(
            "window", "has no end, and this phase needs a temperature; write one"
        )
    at = one.get("close_at") or (level.get("close_at") if ends == "level" else None)
    if at is not None and window is not None and not window[0] <= at <= window[1]:
        raise one.table.mistake(
            "close_at", "lies outside the phase's window; correct one of the two"
        )


def check_figures(sections: Mapping[str, tuple[SectionRead, ...]]) -> None:
    """Refuse the source of a figure that the sheet does not have."""
    for one in sections["figure"]:
        for figure in one.get("of") or ():
            if not _stands(sections, figure):
                raise one.table.mistake(
                    "of",
                    f'names "{figure}", which stands nowhere in this sheet; write '
                    "SECTION.KEY, or SECTION.NAME.KEY where a section stands several "
                    "times",
                )


def _stands(sections: Mapping[str, tuple[SectionRead, ...]], figure: str) -> bool:
    section, _, rest = figure.partition(".")
    name, _, key = rest.rpartition(".")
    rows = sections.get(section, ())
    return any(r.has(key) for r in rows if not name or r.get("name") == name)


def check_stick(sections: Mapping[str, tuple[SectionRead, ...]]) -> None:
    """Refuse marks without a stick, and two rows for one temperature."""
    rows = sections["stick"]
    methods = [one.held("method") for one in (*sections["level"], *sections["phase"])]
    by_stick = "stick" in methods
    if rows and not by_stick:
        raise rows[0].table.mistake(
            "temp", 'is of a stick, but the method is another; write method = "stick"'
        )
    seen: set[float] = set()
    for row in rows:
        temp_c = row.get("temp")
        if temp_c in seen:
            raise row.table.mistake("temp", "stands in two rows; take one of them out")
        seen.add(temp_c)


def _stick_marks(section: SectionRead) -> None:
    _smaller(section, "low", "high", "the upper mark")


def _only_for(section: SectionRead) -> None:
    check_once(section.table, "only_for", section.get("only_for") or ())


def _some_interval(section: SectionRead) -> None:
    if section.has("months") and section.has("time"):
        raise section.table.mistake(
            "time", "says the same as months; take one of the two out"
        )
    if section.table.entries and not any(
        map(section.has, ("distance", "months", "time"))
    ):
        raise section.table.mistake(
            "distance",
            'is missing, and so is months; add one, such as distance = "60000 km"',
        )


_CHECKS: dict[str, tuple[Check, ...]] = {
    "level": (_no_level_step, _close_at),
    "stick": (_stick_marks,),
    "fluid": (_viscosities, _service_fill),
    "circuit": (_viscosities, _service_fill),
    "variant": (_instead,),
    "part": (_only_for,),
    "fastener": (
        *(_hand_tight, _after_torque, _angle, _stages, _sequence),
        _only_for,
    ),
    "drain": (_only_for,),
    "interval": (_some_interval,),
}
