"""A day-long trace: memory while recording, time and size of its report."""

from __future__ import annotations

import gc
import math
import os
import time
from dataclasses import replace
from pathlib import Path

from bridge.jobfile.recorder import start
from bridge.jobfile.report.compose import compose
from bridge.jobfile.report.report_html import as_html
from bridge.jobfile.report.report_pdf import as_pdf
from bridge.jobfile.report.summary import tell
from bridge.jobfile.several.finding import holds
from bridge.session.session import snapshot_at
from bridge.session.session_state import begin
from bridge.sheets import load
from bridge.units import Units
from bridge.values.events import LinkChange
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import Role
from tests.show.parts.evidence.job import complain, job

PER_S = 5
REPORT_S = 5.0
MOST_GROWTH_MB = 8.0
MOST_FIND_SHARE = 0.25
SPIKES = (0.137, 0.522, 0.913)
"""One reading each, at these shares of the day, stands out."""


def day(folder: Path, misses: list[str], *, hours: float) -> dict[str, object]:
    """Record so many hours of 5 readings and 4 decisions a second; report on them."""
    path = folder / "day.job"
    count = int(hours * 3600 * PER_S)
    began_s = time.perf_counter()
    memory = _record(path, count)
    took_s = time.perf_counter() - began_s
    (report_s, processor_s), page, printed, story = _report(path)
    points = sum(len(line) for line in story.trace.lines())
    drawn = {v for line in story.trace.lines() for _, v in line}
    spikes = [90.0 + i in drawn for i in range(len(SPIKES))]
    figures: dict[str, object] = {
        "day_hours": hours,
        "day_readings": story.trace.count,
        "day_lost": story.lost,
        "day_file_mb": round(path.stat().st_size / 1e6, 1),
        "day_written_per_s": round(count / took_s),
        "day_memory_mb": memory,
        "day_report_and_pdf_s": round(report_s, 2),
        "day_report_and_pdf_processor_s": round(processor_s, 2),
        "day_report_kb": round(len(page) / 1e3),
        "day_pdf_kb": round(len(printed) / 1e3),
        "day_points_drawn": points,
        "day_single_spikes_kept": f"{sum(spikes)} of {len(spikes)}",
        "day_intact": story.intact.state.value,
        "day_find_as_share_of_reading_it_whole": round(_find_share(path), 4),
    }
    print(f"{hours:g} hours at {PER_S} readings and 4 decisions a second")
    for name, value in figures.items():
        print(f"  {name:34}{value!s}")
    if report_s > REPORT_S:
        misses.append(f"the report took {report_s:.1f} s")
    if memory[-1] - memory[0] > MOST_GROWTH_MB:
        misses.append(f"memory grew: {memory}")
    if not all(spikes) or story.lost or story.trace.count != count:
        misses.append(f"lost: spikes {spikes}, {story.lost} events")
    if _find_share(path) > MOST_FIND_SHARE:
        misses.append("looking for a word takes nearly as long as reading all")
    if len(page) > 300_000:
        misses.append(f"the page has {len(page)} bytes")
    return figures


def _report(path: Path):
    """Make page and PDF; the processor's time tells how much others slowed it."""
    began_s, began_processor_s = time.perf_counter(), time.process_time()
    story = tell(path)
    document = compose(story, Units.METRIC)
    page, printed = as_html(document).encode(), as_pdf(document)
    took_s = time.perf_counter() - began_s
    processor_s = time.process_time() - began_processor_s
    return (took_s, processor_s), page, printed, story


def _find_share(path: Path) -> float:
    """Return how long looking for a word takes, as a share of reading it whole."""
    began_s = time.process_time()
    assert not holds(path, "nowhere in it")
    found_s = time.process_time() - began_s
    tell(path)
    return found_s / (time.process_time() - began_s - found_s)


def _record(path: Path, count: int) -> list[float]:
    recorder = start(path, job("a made-up day"), complain)
    recorder.began(
        now_s=0.0,
        interval_s=1 / PER_S,
        session=begin(load("scar-eight-speed"), interval_s=0.2),
    )
    recorder.took(LinkChange(state=LinkState.LIVE, t_s=0.0))
    snapshot = snapshot_at(begin(load("scar-eight-speed"), interval_s=0.2), now_s=0.0)
    spikes = {int(share * count): 90.0 + i for i, share in enumerate(SPIKES)}
    memory: list[float] = []
    for i in range(count):
        t_s = i / PER_S
        value = spikes.get(i, 40.0 + 15.0 * math.sin(t_s / 5000.0))
        reading = Reading(
            role=Role.FLUID_TEMPERATURE, value=round(value, 1), t_s=t_s, raw=b"\x62\x11"
        )
        recorder.took(reading)
        if i % PER_S:
            recorder.looked(now_s=t_s, snapshot=replace(snapshot, t_s=t_s))
        if i % 2000 == 0:  # a day in minutes: let the disk keep up
            recorder.note_event("note", {"text": f"reading {i}"}).result(60)
        if (i + 1) % (count // 5) == 0:
            memory.append(_memory_mb())
    assert recorder.close()
    return memory


def _memory_mb() -> float:
    """Return this process's resident memory in MB; 0 where the system hides it."""
    gc.collect()
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except OSError:
        return 0.0
    return round(pages * os.sysconf("SC_PAGE_SIZE") / 1e6, 1)
