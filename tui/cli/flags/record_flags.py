"""What the verbs do about ``--record`` and ``--no-record``."""

from __future__ import annotations

import contextlib
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.session.taken_up import NEW, TakenUp
from bridge.values.errors import UsageError
from bridge.values.frozen import frozen
from bridge.values.service_events import ServiceEvent, ServiceKind
from tui.headless.no_screen import screenless

if TYPE_CHECKING:
    from argparse import Namespace

    from bridge.jobfile.recorder import Job, Recorder
    from bridge.link.ports.wire_log import Opener
    from bridge.values.service_events import Particular
    from bridge.values.sheet import Sheet


LONG_BYTES = 300_000
"""A job file this large, some minutes of readings, takes seconds to apply."""


@frozen
class Recording:
    """A job being recorded, or not."""

    recorder: Recorder | None
    notes: Notes
    job: TakenUp
    """What the file holds already; nothing where it is new, or there is none."""


class Notes:
    """Sentences about the record: shown at once where that is possible."""

    def __init__(self, *, at_once: bool) -> None:
        """``at_once``: standard error is free, nothing is drawn over it."""
        self._at_once = at_once
        self._kept: list[str] = []
        self._asked: set[str] = set()
        self._show: Callable[[str], object] | None = None

    def say(self, sentence: str) -> None:
        """Show a sentence, and keep it until the screen has gone."""
        if self._at_once:
            _print(sentence)
            return
        self._kept.append(sentence)
        if self._show is not None:
            self._show(sentence)

    def ask(self, sentence: str) -> None:
        """Show a sentence that is of no use any more once the screen has gone."""
        self.say(sentence)
        self._asked.add(sentence)

    def to_screen(self, show: Callable[[str], object]) -> None:
        """Show every sentence, kept or still to come, by calling ``show`` with it.

        It is called from any thread.
        """
        self._show = show
        for sentence in self._kept:
            show(sentence)

    def over(self) -> None:
        """Print what was kept: the screen has gone."""
        self._show, self._at_once = None, True
        for sentence in self._kept:
            if sentence not in self._asked:
                _print(sentence)
        self._kept.clear()


def heard(opener: Opener, recorder: Recorder | None) -> Opener:
    """Return the opener with what the adapter says of itself going into the record."""
    if recorder is None:
        return opener
    from bridge.jobfile.adapter_id import AdapterId

    return AdapterId(recorder.note_event).wrap(opener)


@contextlib.contextmanager
def recording(
    args: Namespace, sheet: Sheet, name: str, source: str, *, live: bool
) -> Iterator[Recording]:
    """Give the recorder the flags ask for, where its notes go, and the job so far.

    ``name``: how the sheet was asked for. ``live``: record without being asked to,
    and go on with the job that is open.

    Raises:
        UsageError, JobError: the file that ``--record`` names cannot be used.
    """
    notes = Notes(at_once=screenless(args))
    wanted = args.record is not None or (live and not args.no_record)
    odometer = _odometer(args, wanted=wanted)
    shop = _shop() if wanted else {}
    job = _job(args, sheet, name, source, simulated=not live) if wanted else None
    asked = _asked(args, job) if job else None
    goes_on = asked is not None and Path(asked).is_file()
    if live and job and not goes_on:
        _say_plugs_out(notes)
    recorder = _start(asked, name, job, notes) if job else None
    so_far = _so_far(recorder, job, notes) if recorder and job and goes_on else NEW
    from bridge.service.papers.whose import by_default
    from tui.words.service_words import whose_car

    known = [odometer] if odometer else []
    known += [replace(e, at_utc_s=time.time()) for e in by_default(so_far.told, shop)]
    if recorder is not None:
        if so_far == NEW and not args.json:
            notes.ask(whose_car(sheet, plain=screenless(args)))
        for event in known:
            recorder.took(event)
        so_far = replace(so_far, told=(*so_far.told, *known))
    try:
        yield Recording(recorder=recorder, notes=notes, job=so_far)
    finally:
        sealed = recorder is not None and recorder.close()
        notes.over()
        if recorder is not None and sealed and not args.json:
            how = "; 'sumpgate report last --open' shows it"
            last = how if _is_last(recorder.path) else ""
            _print(f"the job is recorded in {recorder.path}{last}")


def _is_last(path: Path) -> bool:
    """Whether ``last`` means this job."""
    from bridge.jobfile.job_folder import find_job
    from bridge.values.errors import SumpgateError

    try:
        return find_job("last").resolve() == path.resolve()
    except SumpgateError:
        return False


def _odometer(args: Namespace, *, wanted: bool) -> ServiceEvent | None:
    if args.odometer is None:
        return None
    event = odometer_event(args.odometer)
    if not wanted:
        raise UsageError(
            "--odometer goes into the job file, and none is written: say --record"
        )
    return event


def _shop() -> dict[Particular, str]:
    """Return what the shop's own file tells of every job; raises UsageError."""
    from tui.cli.flags.shop_file import shop_of
    from tui.settings import load_settings

    return shop_of(load_settings().shop)


def odometer_event(text: str) -> ServiceEvent:
    """Return what the odometer shows, in the person's own words as well, stamped now.

    Raises:
        UsageError: it is no distance a car can have gone.
    """
    from bridge.units import QuantityError, said_odometer

    try:
        return ServiceEvent(
            kind=ServiceKind.ODOMETER,
            km=said_odometer(text),
            text=text.strip(),
            at_utc_s=time.time(),
        )
    except QuantityError as problem:
        raise UsageError(f"--odometer {problem}") from None


def _start(asked: str | None, name: str, job: Job, notes: Notes) -> Recorder | None:
    import sqlite3

    from bridge.jobfile.recorder import start

    path: Path | str = asked or "in the usual folder"
    try:
        path = _path(asked, name)
        return start(path, job, notes.say)
    except (OSError, sqlite3.Error) as problem:
        why = getattr(problem, "strerror", None) or problem
        sentence = f"the job file {path} cannot be written ({why})"
        if asked:
            other = "leave it out" if job.simulated else "say --no-record"
            raise UsageError(
                f"{sentence}: name another with --record, or {other}"
            ) from None
        notes.say(f"{sentence}; nothing is recorded, the view goes on")
        return None


def _path(asked: str | None, name: str) -> Path:
    from bridge.jobfile.job_folder import folder, make_folder, new_path

    if asked and not Path(asked).is_dir():
        return Path(asked)
    where = Path(asked) if asked else folder()
    make_folder(where)
    return new_path(name, where, utc_s=time.time())


def _asked(args: Namespace, job: Job) -> str | None:
    """Return the file to record into: the one that is named, or the open job's.

    Raises:
        UsageError: a job that is there is to go on, and to begin afresh.
    """
    from bridge.jobfile.open_job import is_open, open_job
    from tui.cli.flags.older_memory import job_from_before

    asked: str | None = args.record
    if asked and job.afresh and Path(asked).is_file():
        raise UsageError(
            f"{asked} is there already, and --start-over starts a new job: name "
            "another file, or leave --start-over out"
        )
    if asked is not None or job.simulated or job.afresh:
        return asked
    now_s, noted = time.time(), job_from_before(job.sheet)
    if noted is not None and is_open(noted, job.sheet_text, now_utc_s=now_s):
        return str(noted)
    found = open_job(job.sheet_text, None, now_utc_s=now_s)
    return None if found is None else str(found)


def _say_plugs_out(notes: Notes) -> None:
    """Say in which older jobs a level plug was left out, now that one begins anew."""
    from bridge.jobfile.open_job import open_jobs
    from bridge.values.errors import SumpgateError
    from tui.words.service_words import plug_left_out

    with contextlib.suppress(SumpgateError):
        for left in open_jobs(None, now_utc_s=time.time()):
            if left.plug_open:
                notes.say(plug_left_out(left.path.stem, left.car))


def _so_far(recorder: Recorder, job: Job, notes: Notes) -> TakenUp:
    from bridge.jobfile.taking_up import taken_up

    if recorder.path.stat().st_size > LONG_BYTES:
        _print(f"taking the job up from {recorder.path}: this can take some seconds")
    found = taken_up(recorder.path, job.sheet, job.sheet_text)
    if found.says:
        notes.say(f"{found.says} --start-over starts a new job.")
    return found


def _job(
    args: Namespace, sheet: Sheet, name: str, source: str, *, simulated: bool
) -> Job:
    from bridge import VERSION
    from bridge.jobfile.recorder import Job
    from bridge.sheets import find_sheet

    return Job(
        sheet=sheet,
        sheet_text=find_sheet(name).read_text("utf-8-sig"),
        tool=f"sumpgate {VERSION}",
        source=source,
        simulated=simulated,
        afresh=getattr(args, "afresh", False),
    )


def _print(sentence: str) -> None:
    """Say it where somebody may read it; a terminal that is gone keeps no job open."""
    with contextlib.suppress(OSError, ValueError):
        sys.stderr.write(f"sumpgate: note: {sentence}\n")
