"""What is said of a typed line that is not taken, and what one looks like. Pure."""

from __future__ import annotations

from bridge.values.sheet import Confirmation

EXAMPLES = {
    "customer": "customer A. Person",
    "car": "car AB-CD 12",
    "model": "model blue estate of 2014",
    "vin": "vin 11111111111111111",
    "shop": "shop Corner garage",
    "mechanic": "mechanic B. Hand",
    "place": "place bay 2",
    "fluid": "fluid PRODUCT, SPECIFICATION, batch 77-1, 5.2 L",
    "part": "part NAME, number 12-34, 2 x",
    "waste": "waste 5.1 L, used gearbox fluid, collecting point",
    "instrument": "instrument wrench W-3, calibrated 2026-01-15",
    "leak": "leak drain plug dry",
    "road-test": "road-test 20 min, 85 C",
    "rechecked": "rechecked right",
    "handed-on": "handed-on look at the level again in 1000 km",
}
"""A line for each word of the papers."""
ASKS_NAMES = {
    Confirmation.DRIVE_SAFE: "Say who saw to it: confirm drive-safe NAME.",
    Confirmation.BRAKE_HELD: "Say who sits at the brake and who lies under, two names: "
    "confirm brake-held NAME, NAME.",
}
NOTHING_LIVE = "Nothing live comes from the car now: connect it first."

USUAL_IN_ALL = " where {} in all is usual"
IS_THAT_RIGHT = "{}{}: is that right? Say it once more and it is taken."
STICK_FAR = "{:g} mm is far from the marks of this sheet's stick."
STICK_MM = "Say what the stick reads: stick 22 mm."
STICK_MARKS = "The sheet has no marks for the stick: say one of {}."
WHO_BOTH = "{} at the brake, {} under the car"
NOT_BY_AIR = "This sheet's window does not hang on the outside air."
NO_AIR = "{} is no outside air; write like 12 C."
SUCH_A_DATE = "{}; a date such as 2028-02-29."
NOT_BEYOND = "{} is not beyond what the odometer shows."
DUE_TOLD = "told in a line, not reckoned from the sheet"
ALONE = '"{}" stands alone on its line.'
NO_WORD = "{} begins with none of the words {}."
NO_STICK = "This sheet's level is not read off a stick."
STICK_WAITS = '"stick" tells nothing now: wait until GO stands.'
NOT_NOW = '"{}" means nothing while the level step is at {}; now: {}.'
NO_WORDS = "none of these words"
NO_CONFIRMATION = "{} cannot be confirmed: only {}."
NOTHING_TYPED = "Nothing was typed; write for example: {}."
ONCE_MORE = "{} Say it once more and it is taken."
VIN_LONG = "{} characters, where a vehicle number has {}."
VIN_LETTERS = "A vehicle number has digits and letters, but never I, O or Q."
VIN_DIGIT = (
    "The check digit (the ninth character) does not fit the others: look at the "
    "number again. Only North America demands it."
)
FORBIDDEN = (
    'The sheet forbids it: "{}". Do not fill it in. If it is in, say it once more '
    "and it stands on record."
)
NO_NUMBER = "{} is neither a number nor a quantity; write for example: {}."
WASTE_WHERE = "Say also what it is and where it was handed in: {}."
BEGIN_WITH = "Begin with one of {}."
NO_DATE = '{} is no date; write for example "calibrated 2026-01-15".'
LEAK_PLACE = "Say the place, then one of {}: {}."
NO_ROAD_TEST = "{} is no road test; up to 10 hours."
THEN_REMARK = "Say one of {}, then a remark."
NOT_PACED = "told in a line, not paced by the screen"
A_PLACE = "place where fluid is let out"
A_CIRCUIT = "circuit of this sheet"
TICKED_OFF = "{} is ticked off already."
NOT_TICKED = "{} is not ticked off."
AN_ITEM = "item, nor a turn of one"
DONE_ALREADY = 'The step "{}" is done already.'
SAY_WHY = 'Say why: "skip {} because ...".'
A_FINDING = "thing that can be seen"
A_GEARBOX = "gearbox of this sheet"
A_TORQUE = "fastener with a torque"
OTHER_TORQUE = (
    "{:g} N·m where the sheet says {:g} N·m: is that right? Say it once more and it "
    "is taken."
)
NOTE_EMPTY = "The note is empty."
AN_ANSWER = "finding that can be answered"
SAY_FOUND = 'Say what was found and done: "answer {} ...".'
CLOSED = "It is closed already; undo takes that back."
NO_PLACE = "{} puts the lever nowhere: only {}."
