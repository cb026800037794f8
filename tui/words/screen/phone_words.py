"""What the phone's page and its server say. Pure."""

from __future__ import annotations

from bridge.level.step.step_values import Instruction

JOB_ENDED = "The laptop's program has ended the job."
MORE_BEFORE = ", and {} more before it"
ADDRESS_SHOWN = "Use the address shown."
PAGE_ITSELF = "Use the page itself."
NO_LENGTH = "Say how long it is."
WRONG_TOKEN = "wrong or used token"  # noqa: S105 - what is said of one

ON_PHONE: dict[Instruction, str] = {
    Instruction.WATCH: "Let it run and mark the drips.",
    Instruction.CLOSE_TIMER: "Time is up: close if it drips, mark if it streams.",
    Instruction.ADD_FLUID: "Add some fluid, watch the plug; on the laptop: how much.",
}
"""Lines that name a key on the laptop are worded anew."""
SCAN = "Scan the code on the laptop's screen (key p) again."

PANE = "The phone page (p or Esc: back)"
SCAN_OR_OPEN = "Scan the code, or open"
FOR_ONE = ("", "Good for one phone; then a new one", "shows here for the next.")
NOT_ENCRYPTED = (
    "The page is not encrypted: use your",
    "own network or the phone's hotspot.",
)
LOOPBACK = ("Only this computer can reach it;", "--phone lan: the network.")
