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
from tests.show.parts.show_run import ShowRun

PER_S = 5
REPORT_S = 5.0
MOST_GROWTH_MB = 8.0
MOST_FIND_SHARE = 0.25
SPIKES = (0.137, 0.522, 0.913)
"""One reading each, at these shares of the day, stands out."""


def day(folder: Path, told: ShowRun) -> None:
    """Record hours of 5 readings and 4 decisions a second; report on them."""
    path, hours = folder / "day.job", told.size(1.0, 24.0)
    count = int(hours * 3600 * PER_S)
    began_s = time.perf_counter()
    memory = _record(path, count)
    took_s = time.perf_counter() - began_s
    (report_s, processor_s), page, printed, summary = _report(path)
    drawn = {v for line in summary.trace.lines() for _, v in line}
    spikes = sum(90.0 + i in drawn for i in range(len(SPIKES)))
    print(f"Hours at {PER_S} readings and 4 decisions a second")
    told.tell("day_hours", hours)
    told.tell("day_readings", summary.trace.count, want=count)
    told.tell("day_lost", summary.lost, want=0)
    told.tell("day_file_mb", path.stat().st_size / 1e6)
    told.tell("day_written_per_s", count / took_s)
    told.tell("day_memory_grew_mb", memory[-1] - memory[0], most=MOST_GROWTH_MB)
    told.tell("day_report_and_pdf_s", report_s, most=REPORT_S)
    told.tell("day_report_and_pdf_processor_s", processor_s)
    told.tell("day_report_kb", len(page) / 1e3, most=300)
    told.tell("day_pdf_kb", len(printed) / 1e3)
    told.tell("day_points_drawn", sum(len(line) for line in summary.trace.lines()))
    told.tell("day_single_spikes_kept", spikes, want=len(SPIKES))
    told.tell("day_intact", summary.intact.state.value)
    share = _find_share(path)
    told.tell("day_find_as_share_of_reading_it_whole", share, most=MOST_FIND_SHARE)


def _report(path: Path):
    """Make page and PDF; the processor's time tells how much others slowed it."""
    began_s, began_processor_s = time.perf_counter(), time.process_time()
    summary = tell(path)
    document = compose(summary, Units.METRIC)
    page, printed = as_html(document).encode(), as_pdf(document)
    took_s = time.perf_counter() - began_s
    processor_s = time.process_time() - began_processor_s
    return (took_s, processor_s), page, printed, summary


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
