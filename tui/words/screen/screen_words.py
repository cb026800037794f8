"""What the live screen says that follows from no single part. Pure."""

from __future__ import annotations

UNREAD = ("Read the cautions first", "Once you have read them, press Enter.")
OPEN_NOW = "the window is open now"
PERHAPS_OPEN = "by the reading it is open; not sure yet"
SHUT_TILL_THEN = "the window is shut until then"
ANY_TEMPERATURE = "any temperature is right"
STARTING = "Starting: the monitor has not reported yet"
NO_DATA = (
    "No data from the monitor",
    "Nothing on this screen is live. If that lasts, quit and start again.",
)
MONITOR_STOPPED = "The monitor has stopped"
SET_NOW = "Set the level now: {}"
HURRY = "The window shuts soon: start only if all is ready ({})"
TAKES = "The level takes about {} to settle{}."
MAKER_FIRST = "{} The maker's procedure comes first."
NO_REASON = (
    "Not every condition is known to be OK",
    "The monitor gives no reason: treat it as a fault, do not set the level.",
)
NO_READING = "not live: no reading yet"
LAST_SEEN = "not live: last seen {}, {} ago"
BEFORE_START = "Before you start: what can kill, and what to mind"
HELP = "Help (PgUp and PgDn or the arrow keys scroll)"
HAVE_READ = "I have read this"
NOTE_WRITTEN = "The note is written down: event {}."
PROMPTS = {
    "added": "Topped up: how much, in {volume}?",
    "tilt": "Tilt lengthways and across, degrees?",
    "note": "Note?",
    "thermometer": "Thermometer reads, in °{unit}?",
    "drive-safe": "It cannot start or move by itself: who saw to it?",
    "brake-held": "Who sits at the brake, who lies under (two names)?",
    "air": "Outside air in the shade, in °{unit}?",
    "stick": "Stick reads, in mm (or below, inside, above)?",
}
NOT_RECORDED = "Nothing is recorded, so a note has no place: start with --record."
NOTE_LOST = "The note is NOT written down: the job file takes nothing more."
JUST_COVERED = "NOT marked: the figures were covered until just now. Press it again."

CALLED = "The window {} in {} seconds."
NO_WHY = "the monitor ended without saying why"
TIME_OVER = "the time asked for is over"
TOO_SMALL = (
    "The terminal is too small for the screen: it needs {} or more, this one has {}x{}."
)

STAYS_OPEN = "The level plug is marked as out. Press q again to leave it so"
TAKEN_UP = "started again, this job goes on with it."
FORGOTTEN = "nothing is recorded, so its time and its marks are lost."


def stays_open(*, recording: bool) -> str:
    """Return the question, and what becomes of the open plug."""
    return f"{STAYS_OPEN}: {TAKEN_UP if recording else FORGOTTEN}"
