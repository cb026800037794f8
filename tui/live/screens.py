"""The one screen: the verdict always on top, the figures or a page below."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal

from textual.message import Message
from textual.screen import Screen

from tui.widgets.banner import Banner
from tui.widgets.glyphs import RICH, to_ascii
from tui.widgets.lines import Heading, Keys, Standing, TooSmall, Why
from tui.widgets.page_widget import PageWidget
from tui.widgets.painted import LOOK_CLASSES, BoardPart
from tui.widgets.sayings import SaidLines
from tui.words.screen import pages, screen_words

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual import events
    from textual.app import ComposeResult

    from bridge.values.sheet import Sheet
    from tui.live.screen_state import ScreenState
    from tui.widgets.figures_body import FiguresBody
    from tui.widgets.glyphs import Glyphs

Pane = Literal["body", "cautions", "help", "phone"]
_PAGES: dict[str, tuple[str, Callable[[Sheet], str]]] = {
    "cautions": (screen_words.BEFORE_START, pages.cautions_text),
    "help": (screen_words.HELP, pages.help_text),
    "phone": ("", lambda _sheet: ""),  # the app fills it anew as it changes
}
LEAST_WIDTH, LEAST_HEIGHT = 60, 20


class GateScreen(Screen[None]):
    """Shows a ScreenState; owns the layout and nothing else."""

    class Ready(Message):
        """The parts of the first frame are in place."""

    AUTO_FOCUS = ""
    COMPONENT_CLASSES: ClassVar[set[str]] = LOOK_CLASSES

    def __init__(self, sheet: Sheet, glyphs: Glyphs = RICH) -> None:
        # Classes set from the start spare a round of styling before the first frame.
        super().__init__(classes="-page -ascii" if glyphs.ascii_only else "-page")
        self._sheet = sheet
        self._glyphs = glyphs
        self.pane: Pane = "body"
        self.in_place = False
        """Whether the parts are there to be shown on."""
        self.body: FiguresBody | None = None
        """The figures; none until the first frame, which does not show them."""

    def compose(self) -> ComposeResult:
        """Lay out the parts of the first frame from top to bottom."""
        signs = self._glyphs
        yield TooSmall(signs, id="small")
        yield Heading(signs, id="heading")
        yield Banner(signs, id="banner")
        yield Why(signs, id="why")
        yield PageWidget(id="page")
        yield SaidLines(signs)
        yield Keys(signs, id="keys")

    def on_mount(self) -> None:
        """Tell the app that the parts are in place."""
        self.in_place = True
        self.turn_to("cautions")
        self.post_message(self.Ready())

    async def mount_body(self) -> None:
        """Put in what the cautions hide, once they are on the screen."""
        from tui.widgets.figures_body import FiguresBody

        if not self.is_attached:
            return  # it is being taken down already
        body = FiguresBody(self._glyphs)
        standing = Standing(self._glyphs, id="standing")
        await self.mount(standing, body, before="#page")
        self.body = body

    def on_unmount(self) -> None:
        """Show nothing more."""
        self.in_place = False

    def on_resize(self, event: events.Resize) -> None:
        """Choose the layout for the new size."""
        width, height = event.size
        small = width < LEAST_WIDTH or height < LEAST_HEIGHT
        self.set_class(small, "-small")
        self.set_class(width >= 110, "-wide")
        self.set_class(height < 24, "-short")
        self.set_class(height >= 34, "-tall")

    def turn_to(self, pane: Pane) -> None:
        """Put the figures or one of the pages below the verdict."""
        self.pane = pane
        self.set_class(pane != "body", "-page")
        self.set_class(pane == "phone", "-phone")
        if pane == "body":
            self.set_focus(None)
            return
        title, text = _PAGES[pane]
        words = text(self._sheet)
        spelled = to_ascii(words) if self._glyphs.ascii_only else words
        self.query_one(PageWidget).turn_to(title, spelled)

    def show(self, state: ScreenState) -> None:
        """Hand the state to every part."""
        for part in self.query_children(BoardPart):
            part.show(state)
        if self.body is not None:
            roomy = self.has_class("-wide") and self.has_class("-tall")
            self.body.show(state, roomy=roomy)
        self.set_class(bool(state.standing), "-open")
        self.set_class(state.result is not None, "-result")
