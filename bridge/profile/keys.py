"""Every section and key a sheet may have, with an example of each value.

To add a section: its keys here, a reader beside `sections`, a line in `assemble`.
"""

from __future__ import annotations

GEARBOX = {
    "name": '"Seven-speed dual clutch"',
    "source": '"workshop manual, section and edition"',
}
LEVEL = {
    "window": '["35 degC", "45 degC"]',
    "engine": '"idling"',
    "settle_time": '"60 s"',
    "stay_chance": "0.9",
    "idle_speed": '["500 rpm", "1100 rpm"]',
    "method": '"overflow-tube"',
    "confirm": '["cautions", "car-level"]',
    "selector": '"P"',
    "tilt_limit": '"0.5 deg"',
}
SUMP = {
    "fill": '"6 L"',
    "area": '"500 cm2"',
    "opening_forward": '"150 mm"',
    "opening_right": '"0 mm"',
}
FLUID = {
    "density": '"850 kg/m3"',
    "viscosity_40": '"30 mm2/s"',
    "viscosity_100": '"6 mm2/s"',
}
LINK = {"protocol": '"auto"', "session": '"extended"'}
SIGNAL = {
    "role": '"fluid-temperature"',
    "request_id": '"7E1"',
    "reply_id": '"7E9"',
    "service": "0x22",
    "pgn": "65272",
    "source": "3",
    "identifier": "0x1157",
    "first_byte": "0",
    "length": "1",
    "data_length": "1",
    "signed": "false",
    "byte_order": '"big"',
    "factor": "1.0",
    "offset": "-40.0",
    "unit": '"degC"',
    "not_available": "[0xFF]",
    "minimum": '"-40 degC"',
    "maximum": '"150 degC"',
    "labels": '{ "0" = "P" }',
}
CAUTIONS = {"lines": '["Hot fluid runs out: wear gloves and eye protection."]'}
STEPS = {"level": '["Open the level plug."]'}

SECTIONS: dict[str, dict[str, str]] = {
    "gearbox": GEARBOX,
    "level": LEVEL,
    "sump": SUMP,
    "fluid": FLUID,
    "link": LINK,
    "signal": SIGNAL,
    "cautions": CAUTIONS,
    "steps": STEPS,
}
REPEATED = frozenset({"signal"})
"""Sections written with double brackets, once for each item."""


def heading(section: str) -> str:
    """Return a section as it is written: ``[level]``, ``[[signal]]``."""
    return f"[[{section}]]" if section in REPEATED else f"[{section}]"


def home_of(key: str) -> str | None:
    """Return the heading of the section a key belongs to, or None."""
    for section, keys in SECTIONS.items():
        if key in keys:
            return heading(section)
    return None
