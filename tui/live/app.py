"""The full-screen app: takes snapshots from a feed, shows them, heeds the keys."""

from __future__ import annotations

from dataclasses import replace
from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.message import Message

from bridge import posix
from bridge.level.step.step_values import Bell
from bridge.values.conditions import Verdict
from bridge.values.errors import SumpgateError
from bridge.values.sheet import Confirmation
from tui import loading
from tui.feeds.feed import Mailbox, next_speed
from tui.inputs.offers import confirming, main_offer
from tui.live import footer
from tui.live.cover import Cover
from tui.live.notebook import Notebook
from tui.live.screen_state import Contact, ScreenInputs, ScreenState, screen_state
from tui.live.screens import GateScreen
from tui.live.step_keys import KEY_WORDS, TYPED, StepKeys
from tui.live.terminal import (
    HUNG_UP,
    INTERRUPTED,
    Leaving,
    glyphs_here,
    terminal_gone,
)
from tui.live.trend_history import History
from tui.live.typing_line import Typing
from tui.settings import SettingsError, save_settings
from tui.widgets.lines import Heading, Keys
from tui.widgets.page_widget import PageWidget
from tui.widgets.sayings import SaidLines, Sayings
from tui.words import figures, step_wording, wording
from tui.words.screen import pages, screen_words

if TYPE_CHECKING:
    from collections.abc import Callable
    from concurrent.futures import Future
    from pathlib import Path
    from typing import Any

    from bridge.level.step.step_values import Step
    from bridge.snapshot import Snapshot
    from bridge.values.sheet import Sheet
    from tui.feeds.feed import Feed
    from tui.live.notebook import Look
    from tui.live.phone_pane import PhonePane
    from tui.live.screens import Pane
    from tui.service.log_editor import LogEditor
    from tui.settings import Settings
    from tui.widgets.glyphs import Glyphs
    from tui.words.figures import TemperatureUnit

CONTACT_S = 2.0
"""Real seconds without a snapshot after which nothing counts as live."""
_WATCH_S = 0.25
FASTEST_PACE = 20.0
"""The selector exercise is paced no faster, whatever the bench's speed."""


class Arrived(Message):
    """Something waits in the mailbox."""


class SumpgateApp(StepKeys):
    """The screen of one job. ``run_screen`` runs it to an exit code."""

    CSS_PATH = "app.tcss"
    TITLE = "sumpgate"
    ALLOW_SELECT = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+c", "interrupt", priority=True, show=False, system=True),
        Binding("q,Q", "quit"),
        Binding("u,U", "unit"),
        Binding("m,M", "mute"),
        Binding("v,V", "theme"),
        Binding("question_mark,h,H", "help"),
        Binding("p,P", "phone"),
        Binding("escape", "close_page"),
        Binding("enter", "confirm"),
        Binding("space,pagedown", "main_mark", priority=True),
        Binding("c,C", "mark('closed')", priority=True),
        Binding("pageup", "back_mark", priority=True),
        *(Binding(f"{k},{k.upper()}", f"mark('{w}')") for k, w in KEY_WORDS.items()),
        *(Binding(f"{k},{k.upper()}", f"type('{w}')") for k, w in TYPED.items()),
        Binding("j,J,tab", "job"),
        *(Binding(str(n % 10), f"confirm_point({n})") for n in range(1, 11)),
        Binding("plus,equals_sign", "speed(1)"),
        Binding("minus", "speed(-1)"),
    ]

    def __init__(
        self,
        *,
        sheet: Sheet,
        feed: Feed,
        settings: Settings,
        source: str,
        settings_path: Path | None = None,
        editor: LogEditor | None = None,
        clock: Callable[[], float] = monotonic,
        diary: Callable[[str, dict[str, Any]], Future[int]] | None = None,
        phone: PhonePane | None = None,
    ) -> None:
        """``diary`` writes into the job file; None: nothing is recorded.

        ``phone``: the phone page's pane; None: there is no phone page.
        """
        super().__init__(settings.theme)
        self.settings = settings
        self.heeds_signals = False
        """True: this app is the program, and ends cleanly on a signal."""
        self.failure = ""
        """The sentence the monitor ended with; '': it has not ended by itself."""
        self.editor = editor
        self._sheet, self._feed, self._source = sheet, feed, source
        self._settings_path, self._clock = settings_path, clock
        self._phone = phone
        if phone is not None:
            phone.set_unread(True)
        self._mail: Mailbox[Snapshot] = Mailbox(lambda: self.post_message(Arrived()))
        self._history = History()
        self._contact = Contact.WAITING
        self._snapshot: Snapshot | None = None
        self._heard_s = clock()
        self._verdict = Verdict.NO_GO
        self._note = ""
        self._sayings = Sayings(clock)
        if settings.problem:
            self._sayings.add(settings.problem, first=True)
        self._confirmed = False
        self._cover = Cover(clock)
        self._leaving = Leaving(clock)
        self._rung_at_s: float | None = None
        self._typing: Typing | None = None
        self._notebook = Notebook(diary, self.say_over)
        self._cautions_shown = False
        self._cautions_owed = False
        """Read before the monitor was heard: still to be told."""
        self._feeding = False
        self._glyphs = glyphs_here(settings.symbols)

    # Life

    def get_default_screen(self) -> GateScreen:
        """Return the one screen there is."""
        return GateScreen(self._sheet, self._glyphs)

    def on_load(self) -> None:
        """Heed signals before the terminal is touched, so that it is put back."""
        if self.heeds_signals:
            posix.call_on_signals(lambda number: self.exit(128 + number))

    def on_gate_screen_ready(self) -> None:
        """Show the first frame, then let the monitor start behind it."""
        self._heard_s = self._clock()
        self._gate_screen.set_class(self.no_car, "-no-car")
        self.show()
        self.set_interval(_WATCH_S, self.check_contact)
        if self.bench is None:  # a simulated car waits until the cautions are read
            self.call_after_refresh(self._start_feed)

    async def on_ready(self) -> None:
        """Put the figures in behind the first frame, which is on the screen."""
        await self._gate_screen.mount_body()
        loading.over()
        self.show()

    def _start_feed(self) -> None:
        self._feeding, self._heard_s = True, self._clock()
        try:
            self._feed.start(self._mail.deliver, self._mail.fail)
        except SumpgateError as error:
            self._mail.fail(str(error))

    def on_unmount(self) -> None:
        """End the monitor with the screen, however the screen ends."""
        self.stop_feed()

    def stop_feed(self) -> None:
        """Stop the feed if it runs; waits until it has ended."""
        feeding, self._feeding = self._feeding, False
        if feeding:
            self._feed.stop()

    # News

    def on_arrived(self) -> None:
        """Take what waits in the mailbox."""
        self._take()

    def check_contact(self) -> None:
        """Notice that the monitor has fallen silent, or the terminal is gone."""
        if not self.screen_stack:
            return  # a last tick of the timer, after the screen is taken down
        if terminal_gone(self._driver):
            self.exit(HUNG_UP)
            return
        self._cover.note(covered=self._covered)
        self._take()
        self._show_phone()
        if not self._feeding or self._contact in (Contact.ENDED, Contact.LOST):
            return
        if self._clock() - self._heard_s > CONTACT_S:
            self._contact = Contact.LOST
            self._history.break_off()
            self.show()

    def _take(self) -> None:
        snapshot, failure = self._mail.take()
        if failure and self._contact is not Contact.ENDED:
            self.failure, self._contact = failure, Contact.ENDED
            self.show()
        if snapshot is not None and self._contact is not Contact.ENDED:
            self._contact, self._heard_s = Contact.HELD, self._clock()
            self._remember(snapshot)
            if self._cautions_owed:
                self._tell_cautions_read()
            self.show()

    def _remember(self, snapshot: Snapshot) -> None:
        self._snapshot = snapshot
        if self.editor is not None:
            self.editor.take(snapshot)
        self._history.add(snapshot.t_s, snapshot.temp_c)

    # Showing

    @property
    def _gate_screen(self) -> GateScreen:
        screen = self.screen_stack[0]
        assert isinstance(screen, GateScreen)  # noqa: S101 - see get_default_screen
        return screen

    def show(self) -> None:
        """Put the present state on the screen; ring if the verdict has changed."""
        if not self.screen_stack or not self._gate_screen.in_place:
            return  # not there yet, or being taken down, and something told the app
        now = screen_state(self._view())
        screen = self._gate_screen
        screen.show(now)
        held = self._contact is Contact.HELD
        if screen.body is not None:
            screen.body.trend.show(
                self._history,
                self._snapshot if held else None,
                self._lead.window,
                self.settings.temperature_unit,
            )
        self._show_lines(screen)
        self._note_cautions_shown(screen)
        self._ring_for(now)
        self.show_service(now)

    def _note_cautions_shown(self, screen: GateScreen) -> None:
        legible = screen.pane == "cautions" and not screen.has_class("-small")
        if legible and not self._cautions_shown:
            self._cautions_shown = True
            self._notebook.cautions("shown", pages.cautions(self._sheet))

    def say_over(self, sentence: str, look: Look) -> None:
        """Show a sentence over the figures for a while; from any thread."""
        self.call_later(self._say_lately, sentence, look)

    def _say_lately(self, sentence: str, look: Look) -> None:
        self._sayings.add(sentence, first=look == "answer")
        self.show()

    def _view(self) -> ScreenInputs:
        return ScreenInputs(
            sheet=self._sheet,
            unit=self.settings.temperature_unit,
            contact=self._contact,
            unread=not self._confirmed,
            snapshot=self._snapshot,
            failure=self.failure,
        )

    def _show_lines(self, screen: GateScreen) -> None:
        speed = self._feed.speed
        source = figures.clean(self._source)
        if speed is not None:
            source = f"×{speed:g} {source}"
        step = self._snapshot.step if self._snapshot else None
        heading = wording.heading(self._lead, step, self.settings.temperature_unit)
        screen.query_one(Heading).say(heading, source)
        screen.query_one(Keys).say(self._keys(screen, speed))
        seen = self.screen is screen
        screen.query_one(SaidLines).say(self._note, self._sayings if seen else None)

    def _keys(self, screen: GateScreen, speed: float | None) -> footer.Hints:
        if self._typing is not None:
            return footer.ANSWERING
        if screen.pane != "body":
            to_end = screen.query_one(PageWidget).read_to_end
            return footer.over_figures(
                screen.pane, confirmed=self._confirmed, read_to_end=to_end
            )
        phone = (("p", "phone"),) if self._phone is not None else ()
        always = footer.standing(
            self.settings.temperature_unit,
            muted=self.settings.mute,
            service=self.editor is not None,
            bench=speed is not None,
            colored=self.colored,
        )
        return (*footer.wanted(self._snapshot), *always[:2], *phone, *always[2:])

    def _ring_for(self, now: ScreenState) -> None:
        step = self._snapshot.step if self._snapshot else None
        if step is not None:
            self._ring_for_step(step)
        elif now.verdict is not self._verdict:
            self._verdict = now.verdict
            self.ring(step_wording.VERDICT_BELLS_S[now.verdict])

    def _ring_for_step(self, step: Step) -> None:
        """Ring as the step calls for it; each call has its own pattern."""
        if step.rung is None or step.rung_at_s == self._rung_at_s:
            return
        early = step.rung in (Bell.OPEN, Bell.GET_READY)
        if early and not self._confirmed:
            return  # deferred: nobody is called to open above unread cautions
        self._rung_at_s = step.rung_at_s
        if step.rung.value not in self.settings.quiet.split():
            self.ring(step_wording.BELLS_S[step.rung])

    def ring(self, strokes_s: tuple[float, ...]) -> None:
        """Strike the terminal's bell at these times from now, unless muted."""
        for delay_s in strokes_s:
            if delay_s:
                self.set_timer(delay_s, self._strike)
            else:
                self._strike()

    def _strike(self) -> None:
        if not self.settings.mute:
            self.bell()

    # Keys

    async def action_quit(self) -> None:
        """Leave; exit code 0. With the plug out it is asked once."""
        step = self._step
        if self._leaving.may_go(plug_open=step is not None and step.plug_open):
            self.exit(0)
        else:
            recording = self._notebook.recording
            self.say_over(screen_words.stays_open(recording=recording), "answer")

    def action_interrupt(self) -> None:
        """Leave as Ctrl-C does everywhere; exit code 130."""
        self.exit(INTERRUPTED)

    def action_unit(self) -> None:
        """Change between degrees Celsius and Fahrenheit."""
        other: TemperatureUnit = "F" if self.settings.temperature_unit == "C" else "C"
        self._keep(replace(self.settings, temperature_unit=other))

    def action_theme(self) -> None:
        """Turn to the next colors, where there are any."""
        if self.colored:
            self._keep(replace(self.settings, theme=self.turn_colors()))

    def action_mute(self) -> None:
        """Switch the bell off or on."""
        self._keep(replace(self.settings, mute=not self.settings.mute))

    def _keep(self, settings: Settings) -> None:
        self.settings = settings
        if self._phone is not None:
            self._phone.set_unit(settings.temperature_unit)
        try:
            save_settings(settings, self._settings_path)
        except SettingsError as error:
            self._note = figures.clean(str(error))
        self.show()

    def action_help(self) -> None:
        """Turn to the help, or back."""
        self._turn_or_back("help")

    def action_phone(self) -> None:
        """Turn to the phone page's code, or back."""
        if self._phone is not None and self._confirmed:
            self._turn_or_back("phone")
            self._show_phone()

    def _turn_or_back(self, pane: Pane) -> None:
        if self._confirmed and self._gate_screen.pane == pane:
            self.action_close_page()
        else:
            self._turn_to(pane)

    def on_page_widget_moved(self) -> None:
        """Offer the keys that are wanted where the page stands now."""
        self.show()

    def _show_phone(self) -> None:
        screen = self._gate_screen
        if self._phone is not None and screen.pane == "phone":
            text = self._phone.text(ascii_only=self._glyphs.ascii_only)
            screen.query_one(PageWidget).update(self._phone.title, text)

    def action_close_page(self) -> None:
        """Turn back to the figures, or to the cautions while not confirmed."""
        self._turn_to("body" if self._confirmed else "cautions")

    def action_confirm(self) -> None:
        """Take the cautions as read, if they can be read at this size; or mark."""
        screen = self._gate_screen
        if screen.has_class("-small") or screen.pane == "body":
            self._mark(main_offer(self._step))
        elif self._confirmed:
            self._turn_to("body")
        elif screen.pane == "cautions":
            page = screen.query_one(PageWidget)
            if page.read_to_end:
                self._take_cautions_as_read()
            else:
                page.read_on()

    def _take_cautions_as_read(self) -> None:
        self._confirmed = True
        if not self._feeding:
            self._start_feed()
        if self._phone is not None:
            self._phone.set_unread(False)
        self._notebook.cautions("confirmed", pages.cautions(self._sheet))
        self._tell_cautions_read()
        self._turn_to("body")
        if self.at_service:
            self.at_service = False
            self.action_job()

    def _tell_cautions_read(self) -> None:
        """Tell the gate; where no monitor is heard yet, as soon as one is."""
        self._cautions_owed = self._contact is not Contact.HELD
        step = self._step
        if step is None or Confirmation.CAUTIONS not in step.confirmed:
            self._tell(confirming(Confirmation.CAUTIONS, step))

    def _turn_to(self, pane: Pane) -> None:
        self._gate_screen.turn_to(pane)
        self.show()

    # The level step

    def live_snapshot(self) -> Snapshot | None:
        """Return the newest snapshot, only while it is live and there is a car."""
        held = self._contact is Contact.HELD and not self.no_car
        return self._snapshot if held else None

    def now_s(self) -> float:
        """Return real seconds that never jump."""
        return self._clock()

    def pace_speed(self) -> float:
        """Return how many seconds of the job pass in one real second."""
        return min(self._feed.speed or 1.0, FASTEST_PACE)

    def signs(self) -> Glyphs:
        """Return the signs in use."""
        return self._glyphs

    def action_job(self) -> None:
        """Turn to the whole service, step by step."""
        if self._confirmed:
            self._note = self.open_service()
            self.show()

    def action_speed(self, step: int) -> None:
        """Run the bench at the next speed up or down; a real car has none."""
        if self._feed.speed is not None:
            self._feed.set_speed(next_speed(self._feed.speed, step))
            self.show()
