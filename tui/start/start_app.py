"""The start screen itself: a list to go through by arrows and Enter."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from bridge.values.errors import PortError
from tui.start.choices import Choice, Known, Place, StartWay, at_address, page
from tui.widgets.colored_app import ColoredApp
from tui.widgets.glyphs import to_ascii
from tui.words import start_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.app import ComposeResult
    from textual.worker import Worker

    from bridge.link.ports.port_search import FoundPort
    from tui.widgets.palettes import Theme


class StartApp(ColoredApp[tuple[str, ...]]):
    """Returns the command that was put together; None: the person left."""

    CSS = """
    Screen { background: $ground; color: $ink; }
    #title { height: 1; padding: 0 1; text-style: bold; }
    #says { height: auto; padding: 0 1; color: $stop; }
    OptionList { height: 1fr; border: none; padding: 0 1; background: $ground;
      color: $ink; }
    OptionList > .option-list--option-highlighted { text-style: bold reverse; }
    #keys { height: 1; padding: 0 1; color: $faint; }
    Input { height: 1; padding: 0 1; background: $band-ground; color: $ink; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+c", "leave", priority=True),
        Binding("q,Q", "leave"),
        Binding("escape,left", "back"),
    ]

    def __init__(
        self,
        *,
        known: Callable[[], Known],
        ports: Callable[[], tuple[FoundPort, ...]],
        gap: str = "",
        sheet: str = "",
        ascii_only: bool = False,
        theme: Theme = "dark",
    ) -> None:
        """``gap``: what the command line left out; ``sheet``: the one it named."""
        super().__init__(theme)
        self._look, self._look_for_ports = known, ports
        self._known = Known()
        self._gap, self._ascii = gap, ascii_only
        place = Place.SOURCE if sheet else Place.HOME
        self._trail: list[tuple[Place, StartWay]] = [(place, StartWay(sheet=sheet))]
        self._choices: dict[str, Choice] = {}
        self._marked = ""
        """The line that bears the sign."""
        self._asking: StartWay | None = None
        """What an address is being typed for; None: none is."""

    def compose(self) -> ComposeResult:
        """Lay out title, sentences, list and keys."""
        yield Static("sumpgate", id="title", markup=False)
        yield Static(id="says", markup=False)
        yield OptionList(id="list")
        yield Input(compact=True)
        yield Static(self._spelled(start_words.KEYS), id="keys", markup=False)

    def on_mount(self) -> None:
        """Keep the answer line out of sight until an address is asked for."""
        self.query_one(Input).display = False

    def on_ready(self) -> None:
        """Look for sheets and jobs behind the first frame, then for ports.

        Until they are there nothing can be chosen: Enter would take another line.
        """
        self.run_worker(self._look, thread=True, name="known")

    def _find_ports(self) -> None:
        self.run_worker(
            self._look_for_ports, thread=True, exit_on_error=False, name="ports"
        )

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Take what was found."""
        from dataclasses import replace

        if not event.worker.is_finished:
            return
        if event.worker.name == "known":
            found = event.worker.result or self._known
            self._known = replace(found, ports=self._known.ports)
            self._find_ports()
        else:
            self._known = replace(self._known, ports=event.worker.result or ())
        self._show()

    def _show(self) -> None:
        place, way = self._trail[-1]
        made = page(place, self._known, way, self._gap)
        self.query_one("#says", Static).update(self._spelled("\n".join(made.says)))
        listed = self.query_one(OptionList)
        at = listed.highlighted
        listed.clear_options()
        self._choices.clear()
        self._marked = ""
        for heading, choices in made.parts:
            title = Content.styled(self._spelled(heading), "bold")
            listed.add_option(Option(title, disabled=True))
            for choice in choices:
                name = f"c{len(self._choices)}"
                self._choices[name] = choice
                shown = self._line(choice, here=False)
                listed.add_option(Option(shown, id=name, disabled=choice.off))
        usable = [n for n in range(listed.option_count) if not self._off(listed, n)]
        listed.highlighted = at if at in usable else next(iter(usable), None)
        if self._asking is None:
            listed.focus()

    @staticmethod
    def _off(listed: OptionList, number: int) -> bool:
        return listed.get_option_at_index(number).disabled

    def _line(self, choice: Choice, *, here: bool) -> Content:
        """Return a choice's line; a sign marks the one Enter takes, not color alone."""
        return Content(self._spelled(f"{'▶' if here else ' '} {choice.text}"))

    def on_option_list_option_highlighted(
        self, event: OptionList.OptionHighlighted
    ) -> None:
        """Move the sign to the line Enter takes."""
        if self._marked in self._choices:
            line = self._line(self._choices[self._marked], here=False)
            event.option_list.replace_option_prompt(self._marked, line)
        self._marked = event.option_id or ""
        if self._marked in self._choices:
            line = self._line(self._choices[self._marked], here=True)
            event.option_list.replace_option_prompt(self._marked, line)

    def _spelled(self, text: str) -> str:
        return to_ascii(text) if self._ascii else text

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Go where the choice leads."""
        choice = self._choices.get(event.option.id or "")
        if choice is None:
            return
        self._gap = ""
        if choice.argv:
            self.exit(choice.argv)
        elif choice.look_again:
            self._find_ports()
        elif choice.asks_address:
            self._ask(choice.way)
        elif choice.place is not None:
            self._trail.append((choice.place, choice.way))
            self.query_one(OptionList).highlighted = None
            self._show()

    def _ask(self, way: StartWay | None) -> None:
        """Ask for an address on the line above the keys, or ask no more."""
        self._asking = way
        line = self.query_one(Input)
        line.display = way is not None
        keys = start_words.KEYS if way is None else start_words.ANSWERING
        self.query_one("#keys", Static).update(self._spelled(keys))
        self._gap = "" if way is None else start_words.ADDRESS
        self._show()
        if way is not None:
            self.screen.set_focus(line)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Go on to that address, or say why it can be none."""
        from bridge.link.ports.opening import check_name

        if self._asking is None or not event.value.strip():
            return
        argv = at_address(self._asking, event.value)
        try:
            check_name(argv[argv.index("--port") + 1])
        except PortError as problem:
            self._gap = f"{str(problem).rstrip('.')}. {start_words.ADDRESS}"
            self._show()
            self.screen.set_focus(event.input)
            return
        self.exit(argv)

    async def action_back(self) -> None:
        """Go back a page; from the first one, leave."""
        if self._asking is not None:
            self._ask(None)
            return
        self._gap = ""
        if len(self._trail) == 1 and self._trail[0][0] is not Place.HOME:
            self._trail[0] = (Place.HOME, StartWay())
        elif len(self._trail) > 1:
            self._trail.pop()
        else:
            self.exit(None)
            return
        self.query_one(OptionList).highlighted = None
        self._show()

    def action_leave(self) -> None:
        """Leave without a command."""
        self.exit(None)
