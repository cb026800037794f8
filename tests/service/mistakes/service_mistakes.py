"""A sheet that tells the whole service, and mistakes to make in it."""

TEXT = """\
[gearbox]
name = "Test gearbox"
source = "invented for tests"

[level]
window = ["42 degC", "52 degC"]

[sump]
fill = "6 L"

[fluid]
name = "test fluid"
service_fill = "4.5 L"
service_fill_tolerance = "0.3 L"
service_fill_temp = "20 degC"

[filter]
holds = "0.3 L"

[tube]
pitch = "1.5 mm"

[[signal]]
role = "selector"
request_id = "7E1"
service = 0x22
identifier = 2
labels = { "0" = "P", "1" = "R", "2" = "N", "3" = "D" }

[[variant]]
name = "long case"
look_for = "two pipes"

[[variant]]
name = "short case"
look_for = "no pipes"

[[variant]]
name = "other make"
look_for = "a round pan"
fits = false
instead = "another manual"

[[part]]
name = "new washer"
kind = "part"
count = 2
one_use = true
note = "of copper"
only_for = ["long case"]

[[fastener]]
name = "drain plug"
drive = "hex socket 8 mm"
thread = "M18x1.5"
count = 1
torque = "30 N*m"
torque_tolerance = "3 N*m"
angle = "90 deg"
renew = ["washer"]
step = "refit"

[[fastener]]
name = "overflow tube"
thread = "M14x1.5"
turns_back = 2
hand_tight = true
plastic = true
only_for = ["long case"]

[[drain]]
name = "pan"
fastener = "drain plug"
expected = "4 L"
pressure = false
sideways = false

[[drain]]
name = "tube"
fastener = "overflow tube"
only_for = ["long case"]

[exercise]
positions = ["P", "R", "N", "D"]
hold = "4 s"
rounds = 2

[interval]
distance = "60000 km"
months = 48
severe_factor = 0.6
severe = ["Towing."]

[cautions]
lines = ["Hot fluid."]

[steps]
order = ["cautions", "identify", "parts", "drain", "refit", "exercise", "level", "due"]
drain = ["Let it out."]
level = ["Open the plug."]
"""
DRAIN2 = 'name = "tube"\nfastener = "overflow tube"\nonly_for = ["long case"]'

# what is written, what is written instead, key and section, what is said, the remedy
SERVICE_MISTAKES = [
    # names and what refers to them
    ('name = "short case"', 'name = "long case"', "name", "[[variant]] 1 too", "own"),
    ('name = "overflow tube"', 'name = "drain plug"', "name", "[[fastener]] 1", "own"),
    ('name = "tube"', 'name = "pan"', "name", "[[drain]] 1 too", "own"),
    ('name = "new washer"\n', "", "name", "is missing", "add name"),
    ('look_for = "two pipes"\n', "", "look_for", "is missing", "add look_for"),
    ('name = "pan"\n', "", "name", "is missing", "add name"),
    ('name = "drain plug"\n', "", "name", "is missing", "add name"),
    (
        'only_for = ["long case"]',
        'only_for = ["long-case"]',
        "only_for",
        "no variant",
        '"long case"',
    ),
    (
        'only_for = ["long case"]',
        'only_for = ["other make"]',
        "only_for",
        "not fit",
        "take it out",
    ),
    (
        'only_for = ["long case"]',
        'only_for = ["long case", "long case"]',
        "only_for",
        "twice",
        "once",
    ),
    (
        'only_for = ["long case"]',
        'only_for = "long case"',
        "only_for",
        "not a list",
        "like only_for",
    ),
    (
        'fastener = "drain plug"',
        'fastener = "drian plug"',
        "fastener",
        "no fastener",
        '"drain plug"',
    ),
    (
        'fastener = "drain plug"',
        'fastener = "xyz"',
        "fastener",
        "no fastener",
        "one of drain plug, overflow tube",
    ),
    (
        DRAIN2,
        DRAIN2.replace('\nonly_for = ["long case"]', ""),
        "fastener",
        "not every variant",
        "equal",
    ),
    ("fits = false", "fits = true", "instead", "not fit", "fits = false"),
    ("fits = false", 'fits = "no"', "fits", "not true or false", "like fits"),
    # parts
    ('kind = "part"', 'kind = "parts"', "kind", "unknown word", '"part"'),
    ('kind = "part"', 'kind = "oil"', "kind", "unknown word", "part, tool, fluid"),
    ("count = 2", "count = 0", "count", "is 0", "from 1 to 100"),
    ("count = 2", "count = 1.5", "count", "not a whole number", "like count"),
    ("one_use = true", "one_use = 1", "one_use", "not true or false", "like one_use"),
    ('note = "of copper"', 'note = ""', "note", "empty text", "like note"),
    ('note = "of copper"', "notes = 1", "notes", "is not known", '"note"'),
    # fasteners
    ('torque = "30 N*m"', 'torque = "30"', "torque", "no unit", "25 N*m"),
    ('torque = "30 N*m"', "torque = 30", "torque", "not a quantity", "35 N*m"),
    ('torque = "30 N*m"', 'torque = "30 kg*m"', "torque", "kg*m", "kgf*m"),
    ('torque = "30 N*m"', 'torque = "30 N"', "torque", "not a unit of a torque", "N*m"),
    (
        'torque = "30 N*m"',
        'torque = "3000 N*m"',
        "torque",
        "3000 N*m",
        "0.05 to 500 N*m",
    ),
    ('torque = "30 N*m"', 'torque = "-3 N*m"', "torque", "-3 N*m", "0.05 to 500 N*m"),
    ('torque = "30 N*m"\n', "", "torque_tolerance", "no torque beside", "add torque"),
    (
        'torque = "30 N*m"\ntorque_tolerance = "3 N*m"\n',
        "",
        "angle",
        "no torque beside",
        "add torque",
    ),
    (
        '_tolerance = "3 N*m"',
        '_tolerance = "40 N*m"',
        "torque_tolerance",
        "no smaller",
        "correct",
    ),
    ('angle = "90 deg"', 'angle = "90"', "angle", "no unit", "90 deg"),
    ('angle = "90 deg"', 'angle = "90 degC"', "angle", "not a unit of an angle", "deg"),
    ('angle = "90 deg"', 'angle = "9 turns"', "angle", "9 turns", "to 3 turns"),
    (
        "hand_tight = true",
        'hand_tight = true\ntorque = "3 N*m"',
        "torque",
        "beside hand_tight",
        "one of the two",
    ),
    ("hand_tight = true", 'hand_tight = "yes"', "hand_tight", "not true", "like hand"),
    ("turns_back = 2", 'turns_back = "3 turns"', "turns_back", "not a number", "= 2"),
    ("turns_back = 2", "turns_back = 0", "turns_back", "is 0", "0.05 to 50"),
    ("turns_back = 2", "turns_back = nan", "turns_back", "is nan", "0.05 to 50"),
    ('renew = ["washer"]', 'renew = ["washers"]', "renew", "unknown here", '"washer"'),
    ('renew = ["washer"]', 'renew = "washer"', "renew", "not a list", "like renew"),
    ('renew = ["washer"]', 'renew = ["washer", "washer"]', "renew", "twice", "once"),
    ('step = "refit"', 'step = "re-fit"', "step", "unknown word", '"refit"'),
    ('step = "refit"', 'step = "closing"', "step", "leaves out", "add it there"),
    ("plastic = true", "plastik = true", "plastik", "is not known", '"plastic"'),
    (
        "count = 1",
        "count = 4\nsequence = [1, 3, 2]",
        "sequence",
        "each of the 4",
        "from 1 to 4",
    ),
    ("count = 1", 'stages = ["40 N*m"]', "stages", "do not rise", "in their order"),
    ("count = 1", 'stages = ["8 L"]', "stages", "not a unit of a torque", "N*m"),
    ("count = 1", "stages = [8]", "stages", "has 8 in it", "like stages"),
    (
        'angle = "90 deg"',
        'angle_tolerance = "5 deg"',
        "angle_tolerance",
        "no angle",
        "add angle",
    ),
    (
        'angle = "90 deg"',
        'angle = "90 deg"\nangle_tolerance = "90 deg"',
        "angle_tolerance",
        "no smaller",
        "correct",
    ),
    # drains
    ('expected = "4 L"', 'expected = "4"', "expected", "no unit", "5.5 L"),
    ('expected = "4 L"', 'expected = "4000 L"', "expected", '"4000 L"', "0.02 to 60 L"),
    ('expected = "4 L"', 'expected = "4 mm"', "expected", "not a unit of a vol", "L"),
    ("pressure = false", "pressure = 0", "pressure", "not true or false", "= true"),
    ("sideways = false", "sidewards = false", "sidewards", "not known", '"sideways"'),
    # exercise
    ('["P", "R", "N", "D"]\nhold', '["P"]\nhold', "positions", "at least 2", '"R"'),
    (
        '["P", "R", "N", "D"]\nhold',
        '["P", "2"]\nhold',
        "positions",
        "labels do not have",
        "P, R, N, D",
    ),
    ('["P", "R", "N", "D"]\nhold', '"PRND"\nhold', "positions", "not a list", "like"),
    ('hold = "4 s"', "hold = 3", "hold", "not a quantity", '"5 s"'),
    ('hold = "4 s"', 'hold = "3 h"', "hold", '"3 h"', "to 0.03333 h"),
    ("rounds = 2", "rounds = 0", "rounds", "is 0", "from 1 to 20"),
    ("rounds = 2", "rounds = 2.5", "rounds", "not a whole number", "like rounds"),
    # interval
    ('distance = "60000 km"\nmonths = 48\n', "", "distance", "so is months", "add one"),
    ("months = 48", 'months = 48\ntime = "4 years"', "time", "same as months", "take"),
    ("months = 48", 'months = "4 years"', "months", "not a whole number", "48"),
    ("months = 48", "months = 0", "months", "is 0", "from 1 to 600"),
    ("months = 48", 'time = "4 days"', "time", "4 days", "days"),
    ('"60000 km"', '"60 km"', "distance", "60 km", "1000 to 1000000 km"),
    ('"60000 km"', '"60,000 km"', "distance", "comma", "point"),
    ("severe_factor = 0.6", "severe_factor = 2", "severe_factor", "is 2", "0.1 to 1"),
    (
        'severe = ["Towing."]',
        'severe = "Towing."',
        "severe",
        "not a list",
        "like severe",
    ),
    # fluid, filter, tube
    ('service_fill = "4.5 L"\n', "", "service_fill_tolerance", "without", "add that"),
    (
        'service_fill = "4.5 L"',
        'service_fill = "45 gal"',
        "service_fill",
        "45 gal",
        "0.05283 to 15.85 gal",
    ),
    (
        'tolerance = "0.3 L"',
        'tolerance = "5 L"',
        "service_fill_tolerance",
        "no smaller",
        "correct",
    ),
    ('temp = "20 degC"', 'temp = "20 C"', "service_fill_temp", '"C"', '"degC"'),
    ('holds = "0.3 L"', 'holds = "30 L"', "holds", '"30 L"', "0.01 to 5 L"),
    ('holds = "0.3 L"', "hold = 1", "hold", "is not known", '"holds"'),
    ('pitch = "1.5 mm"', 'pitch = "1 mm"', "pitch", "has the thread", "correct one"),
    ('pitch = "1.5 mm"', 'pitch = "15 mm"', "pitch", "15 mm", "0.2 to 6 mm"),
    # steps
    ('"parts", "drain"', '"parts", "parts", "drain"', "order", "twice", "once"),
    ('"parts", "drain"', '"parts", "drane"', "order", "unknown here", '"drain"'),
    ('"identify", ', "", "name", '"identify", which order', "add it there"),
    ('"parts", ', "", "name", '"parts", which order', "add it there"),
    ('"exercise", ', "", "positions", '"exercise", which order', "add it there"),
    (', "due"', "", "distance", '"due", which order', "add it there"),
    ('"cautions", ', "", "lines", '"cautions", which order', "add it there"),
    ('drain = ["Let', 'filter = ["Let', "filter", '"filter", which order', "add it"),
    ('drain = ["Let', 'fill-plug = ["Let', "fill-plug", "not known", '"fill_plug"'),
    ('drain = ["Let', 'cautions = ["Let', "cautions", "not known", "[cautions]"),
    (
        'drain = ["Let it out."]',
        'drain = "Let it out."',
        "drain",
        "not a list",
        "drain",
    ),
    # sections
    ("[exercise]", "[[exercise]]", "exercise", "is no section", "write [exercise]"),
    ("[tube]", "[tubes]", "tubes", "is not known", '"tube"'),
]
