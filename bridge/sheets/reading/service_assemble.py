"""From the sections of the whole service to a Service."""

from __future__ import annotations

from bridge.sheets.reading import service_sections as read
from bridge.sheets.reading.findings import Findings
from bridge.sheets.reading.service_together import (
    Parts,
    checks,
    name_checks,
    usual_order,
)
from bridge.sheets.reading.table import Table, in_words
from bridge.values.service_sheet import Exercise, Service, StepKind
from bridge.values.sheet import Role, Signal


def read_service(
    top: Table,
    found: Findings,
    cautions: tuple[str, ...],
    signals: tuple[Signal, ...],
) -> Service:
    """Return the service a sheet tells; its mistakes go into the findings.

    The parts are checked against one another only when each is right by itself.
    """
    before = len(found.mistakes)
    parts = _parts(top, found, cautions)
    order = found.attempt(lambda: _order(top.one("steps")))
    if parts is None or order is None or len(found.mistakes) > before:
        return Service()
    found.attempt_each(name_checks(parts))
    if len(found.mistakes) == before:
        found.attempt_each(checks(parts, top, order))
        found.attempt(lambda: _check_positions(top, parts.exercise, signals))
    return _service(parts, order)


def _parts(top: Table, found: Findings, cautions: tuple[str, ...]) -> Parts | None:
    volumes = found.attempt(
        lambda: read.read_volumes(top.one("fluid"), top.one("filter"), top.one("tube"))
    )
    lines = found.attempt(lambda: read.read_lines(top.one("steps"), cautions))
    variants = found.each(top, "variant", read.read_variant)
    parts = found.each(top, "part", read.read_part)
    fasteners = found.each(top, "fastener", read.read_fastener)
    drains = found.each(top, "drain", read.read_drain)
    exercise = found.attempt(lambda: read.read_exercise(top.one("exercise")))
    interval = found.attempt(lambda: read.read_interval(top.one("interval")))
    if volumes is None or lines is None:
        return None
    return Parts(
        variants=variants,
        parts=parts,
        fasteners=fasteners,
        drains=drains,
        exercise=exercise,
        interval=interval,
        lines=lines,
        volumes=volumes,
    )


def _order(steps: Table) -> tuple[StepKind, ...]:
    order = tuple(StepKind(word) for word in steps.words("order"))
    if steps.has("order") and not order:
        raise steps.mistake(
            "order", "names no step; name the steps or take it out for the usual order"
        )
    return order


def _check_positions(
    top: Table, exercise: Exercise | None, signals: tuple[Signal, ...]
) -> None:
    signal = next((s for s in signals if s.role is Role.SELECTOR), None)
    if exercise is None or signal is None or not signal.labels:
        return
    labels = [label for _, label in signal.labels]
    for position in exercise.positions:
        if position not in labels:
            raise top.one("exercise").mistake(
                "positions",
                f"has {in_words(position)} in it, which the selector's labels do not "
                f"have; write some of {', '.join(labels)}",
            )


def _service(parts: Parts, order: tuple[StepKind, ...]) -> Service:
    if parts.empty and not order:
        return Service()
    return Service(
        order=order or usual_order(parts),
        lines=parts.lines,
        variants=tuple(item for _, item in parts.variants),
        parts=tuple(item for _, item in parts.parts),
        fasteners=tuple(item for _, item in parts.fasteners),
        drains=tuple(item for _, item in parts.drains),
        exercise=parts.exercise,
        interval=parts.interval,
        **parts.volumes,  # type: ignore[arg-type]
    )
