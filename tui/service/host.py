"""The app's side of the service: opens its screen and does what its items ask for.

What only the service needs is imported when it is opened: before the first frame every
module counts.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Protocol

from bridge.units import Units
from bridge.values.service_events import ServiceEvent, ServiceKind
from bridge.values.service_sheet import StepKind
from bridge.values.sheet import Confirmation, Role
from tui.service.pages.page_model import ItemAction
from tui.widgets.colored_app import ColoredApp
from tui.words.service import line_words, page_words

if TYPE_CHECKING:
    from bridge.snapshot import Snapshot
    from bridge.values.sheet import Signal
    from tui.live.notebook import Look
    from tui.live.screen_state import ScreenState
    from tui.service.log_editor import LogEditor
    from tui.service.service_screen import ServiceScreen
    from tui.settings import Settings
    from tui.widgets.glyphs import Glyphs
    from tui.widgets.sayings import Sayings

LIVE_KEYS = frozenset(
    {
        "main_mark",
        "mark",
        "back_mark",
        "type",
        "confirm",
        "confirm_point",
        "help",
        "phone",
        "close_page",
    }
)
"""Actions of the live screen whose keys mean something else in the service."""


class BenchCar(Protocol):
    """What the person can do to a simulated car from the screen."""

    def move_lever(self, place: str) -> None:
        """Put its lever there."""

    def run_engine(self, on: bool) -> None:  # noqa: FBT001 - a switch
        """Start or stop its engine."""


class ServiceHost(ColoredApp[int]):
    """What the app adds for the service; the live screen knows nothing of it."""

    settings: Settings
    editor: LogEditor | None = None
    no_car = False
    """True: there is no live side at all, only the steps."""
    _sayings: Sayings
    at_service = False
    """True: turn to the service as soon as the cautions are read."""
    _warned = False
    """Whether it was said that this is another car."""
    _opened: ServiceScreen | None = None
    _left_at: StepKind | None = None
    """The step the service screen was left at."""
    bench: BenchCar | None = None
    """The simulated car; None: a real one."""

    def say_over(self, sentence: str, look: Look) -> None:
        """Show a sentence over the figures for a while; from any thread."""
        raise NotImplementedError

    def live_snapshot(self) -> Snapshot | None:
        """Return the newest snapshot, only while it is live."""
        raise NotImplementedError

    def show(self) -> None:
        """Put the present state on the screen."""
        raise NotImplementedError

    def ring(self, strokes_s: tuple[float, ...]) -> None:
        """Strike the bell at these times from now."""
        raise NotImplementedError

    def now_s(self) -> float:
        """Return real seconds that never jump."""
        raise NotImplementedError

    def pace_speed(self) -> float:
        """Return how many seconds of the job pass in one real second."""
        raise NotImplementedError

    def signs(self) -> Glyphs:
        """Return the signs in use."""
        raise NotImplementedError

    @property
    def units(self) -> Units:
        """The person's units."""
        return self.settings.units

    @property
    def service_screen(self) -> ServiceScreen | None:
        """The service screen, if it is the one to be seen."""
        top = self.screen_stack[-1] if self.screen_stack else None
        return (
            self._opened if self._opened is not None and top is self._opened else None
        )

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Keep the live screen's keys out of the service."""
        if self.service_screen is not None and action in LIVE_KEYS:
            return False
        return super().check_action(action, parameters)

    def open_service(self) -> str:
        """Show the service; return a sentence if there is none to show."""
        if self.editor is None:
            return page_words.NO_SERVICE
        if self.service_screen is None:
            from tui.service.service_screen import ServiceScreen

            self._opened = ServiceScreen(
                self.editor,
                units=lambda: self.units,
                simulated=self.bench is not None,
                at=self._left_at,
                glyphs=self.signs(),
                clock=self.now_s,
            )
            self.push_screen(self._opened)
        return ""

    def show_service(self, state: ScreenState) -> None:
        """Hand on what the live side shows."""
        self._warn_of_other_car()
        screen = self.service_screen
        if screen is not None and screen.is_mounted:
            screen.show(state, self.live_snapshot(), self._sayings, no_car=self.no_car)

    def _warn_of_other_car(self) -> None:
        """Say it once where a job goes on at another car than it was begun at."""
        snapshot = self.live_snapshot()
        if self._warned or snapshot is None or not snapshot.carried.other_car:
            return
        self._warned = True
        self.say_over(page_words.OTHER_CAR, "news")

    # What items ask for

    def on_service_screen_opened(self) -> None:
        """Fill the screen that has just been opened."""
        self.show()

    def on_service_screen_finished(self, message: ServiceScreen.Finished) -> None:
        """Keep the due date that a finished step has told."""
        if message.step is StepKind.DUE:
            self._keep_due()

    def on_service_screen_action_asked(
        self, message: ServiceScreen.ActionAsked
    ) -> None:
        """See to an item that is more than an entry in the log."""
        {
            ItemAction.TO_LIVE: self._to_live,
            ItemAction.TAKE_CAR: lambda: self._take_car(message.entry),
            ItemAction.EXERCISE: lambda: self._exercise(message.entry),
            ItemAction.ENGINE: self._engine,
            ItemAction.CALENDAR: self._write_calendar,
            ItemAction.COMPLETE: self._complete,
        }[message.action]()

    def _to_live(self) -> None:
        if self.no_car:
            self._say(page_words.NO_CAR_FOR_LEVEL)
        elif self.service_screen is not None:
            self._left_at = self.service_screen.step
            self.pop_screen()

    def _engine(self) -> None:
        snapshot = self.live_snapshot()
        if self.bench is None or snapshot is None:
            return
        running = (snapshot.engine_rpm or 0.0) > 0.0
        self.bench.run_engine(not running)
        self._say(f"The simulated engine {'stops' if running else 'starts'}.")

    def _say(self, sentence: str) -> None:
        if self.service_screen is not None:
            self.service_screen.say(sentence)

    def _take_car(self, entry: ServiceEvent | None) -> None:
        snapshot = self.live_snapshot()
        if self.editor is None or entry is None:
            return
        if snapshot is None or snapshot.car_facts is None:
            self._say(line_words.NOTHING_LIVE)
            return
        taken = self.editor.add(replace(entry, car=snapshot.car_facts))
        if taken and self.service_screen is not None:
            self.service_screen.go_onward()
        self._say("Saved." if taken else page_words.NOT_TAKEN)

    def _exercise(self, entry: ServiceEvent | None) -> None:
        from bridge.service.exercise import pace_of
        from tui.service.pacing import PacingScreen

        editor = self.editor
        if editor is None or entry is None or editor.service.exercise is None:
            return
        pace = pace_of(editor.service.exercise, self._selector_signal())

        def over(held: str | None) -> None:
            if held is None:
                self._say(page_words.INTERRUPTED)
                return
            editor.add(replace(entry, text=held))
            editor.confirm(Confirmation.SELECTOR_EXERCISED)
            self._put_lever_back()
            if self.service_screen is not None:
                self.service_screen.go_onward()

        screen = PacingScreen(
            pace,
            selector=self._lever_reads,
            clock=self.now_s,
            speed=self.pace_speed,
            ring=self.ring,
            lever=self.bench.move_lever if self.bench else None,
            glyphs=self.signs(),
        )
        self.push_screen(screen, over)

    def _put_lever_back(self) -> None:
        """Put the simulated lever where the sheet wants it for the level."""
        place = self.editor.sheet.selector_position if self.editor else ""
        if self.bench is not None and place:
            self.bench.move_lever(place)

    def _selector_signal(self) -> Signal | None:
        """Return the sheet's selector signal, if there is a car to read it from."""
        if self.editor is None or self.no_car:
            return None
        return self.editor.sheet.signal(Role.SELECTOR)

    def _lever_reads(self) -> str | None:
        snapshot = self.live_snapshot()
        return snapshot.selector if snapshot else None

    def _keep_due(self) -> None:
        from tui.inputs.car_lines import reckoned_due

        at = self.editor
        if at is None:
            return
        found = reckoned_due(at.service, at.log, at.today, self.units)
        if isinstance(found, ServiceEvent):
            at.add(found)

    def _write_calendar(self) -> None:
        from tui.service.calendar_export import write_calendar

        if self.editor is not None:
            self._keep_due()
            self._say(write_calendar(self.editor, self.units, datetime.now(UTC)))

    def _complete(self) -> None:
        if self.editor is None:
            return
        if self.editor.closed:
            self._say(page_words.CLOSED_ALREADY)
            return
        from bridge.service.against import against
        from bridge.service.missing import missing

        lacks = missing(self.editor.service, self.editor.log)
        found = [a.text for a in against(self.editor.sheet, self.editor.log)]
        text = "\n".join([*found, *lacks])
        if not self.editor.add(ServiceEvent(kind=ServiceKind.COMPLETE, text=text)):
            self._say(page_words.NOT_TAKEN)
            return
        points = len(lacks) + len(found)
        self._say(page_words.NOW_INCOMPLETE.format(points) if points else "Complete.")
