"""What sumpgate remembers between runs: a small TOML file a person can edit."""

from __future__ import annotations

import json
import os
import tempfile
import tomllib
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from bridge.values.errors import SumpgateError
from bridge.values.frozen import frozen
from tui.widgets.palettes import THEMES

if TYPE_CHECKING:
    from bridge.units import Units
    from tui.widgets.glyphs import SymbolChoice
    from tui.widgets.palettes import Theme
    from tui.words.figures import TemperatureUnit


class SettingsError(SumpgateError):
    """Settings that cannot be saved; names the file and the remedy."""


@frozen
class Settings:
    """The remembered choices; a default stands for 'never chosen'."""

    port: str = ""
    """The adapter's port last used; '': none yet, so search."""
    port_id: str = ""
    """What tells that adapter from others, whatever its port is called then."""
    sheet: str = ""
    """The sheet last used, by name or path; '': none yet."""
    temperature_unit: TemperatureUnit = "C"
    theme: Theme = "dark"
    mute: bool = False
    quiet: str = ""
    """Calls whose bell stays silent, by name; see the file's comment."""
    symbols: SymbolChoice = "auto"
    shop: str = ""
    """The shop's own file, which tells shop, mechanic and place of every job."""
    problem: str = ""
    """One sentence if the file could not be used as it stands; never saved."""

    @property
    def units(self) -> Units:
        """All units of the person; a degree Fahrenheit goes with quarts and miles."""
        from bridge.units import Units

        return Units.US if self.temperature_unit == "F" else Units.METRIC


_COMMENTS = {
    "port": "The adapter's port last used, such as /dev/ttyUSB0, COM3,\n"
    '# socket://host:port, rfcomm://ADDRESS or ble://NAME. "" searches for one.',
    "port_id": "What tells that adapter from others (USB ids, serial number): it is\n"
    '# found by this under another port name too. "" goes by the name alone.',
    "sheet": 'The gearbox sheet last used: a shipped name or a path. "" asks.',
    "temperature_unit": 'Temperatures on screen: "C" or "F".',
    "theme": 'Colors on screen: "dark", "light" or "contrast".',
    "mute": "true: no terminal bell when the verdict changes.",
    "shop": 'A file of the shop\'s own with lines such as shop = "Corner garage",\n'
    '# mechanic = "...", place = "...": they stand in every job. "" tells nothing.',
    "symbols": 'Signs on screen: "auto", "unicode" or "ascii".',
}
_ALLOWED: dict[str, tuple[str, ...]] = {
    "temperature_unit": ("C", "F"),
    "symbols": ("auto", "unicode", "ascii"),
    "theme": THEMES,
}
_HEADING = """\
# What sumpgate remembers between runs. You may edit or delete this file.
"""


def settings_path() -> Path:
    """Return where this system keeps the file (platformdirs' config folder)."""
    from platformdirs import user_config_path

    return user_config_path("sumpgate", appauthor=False) / "settings.toml"


def load_settings(path: Path | None = None) -> Settings:
    """Read the settings; what cannot be used is left at its default.

    Never raises: ``problem`` then holds one sentence that names the file.
    """
    path = path or settings_path()
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Settings()
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        what = error.strerror if isinstance(error, OSError) else str(error)
        return Settings(
            problem=f"The settings file {path} cannot be read ({what}); "
            "defaults are used: correct or delete it."
        )
    return _from_table(table, path)


def _from_table(table: dict[str, Any], path: Path) -> Settings:
    good: dict[str, Any] = {}
    wrong: list[str] = []
    for key, value in table.items():
        complaint = _complaint(key, value)
        if complaint:
            wrong.append(complaint)
        else:
            good[key] = value
    problem = ""
    if wrong:
        problem = (
            f"The settings file {path} has {'; '.join(wrong)}: "
            "correct or delete that; the default is used."
        )
    return Settings(**good, problem=problem)


def _complaint(key: str, value: object) -> str:
    if key not in _COMMENTS:
        return f"an unknown key {key!r} (known: {', '.join(_COMMENTS)})"
    wanted = bool if key == "mute" else str
    if not isinstance(value, wanted):
        return f"{key} = {value!r}, which should be {_KINDS[wanted]}"
    allowed = _ALLOWED.get(key)
    if allowed and value not in allowed:
        return f"{key} = {value!r}, which should be one of {', '.join(allowed)}"
    return ""


_KINDS: dict[type, Literal["true or false", "a text in quotes"]] = {
    bool: "true or false",
    str: "a text in quotes",
}


def save_settings(settings: Settings, path: Path | None = None) -> None:
    """Write the settings, whole or not at all.

    Raises SettingsError (one sentence) if the folder cannot be written, or if
    the file there is one that ``load_settings`` complains about: a person's
    edit is never overwritten.
    """
    path = path or settings_path()
    text = to_toml(settings)
    if any("\ud800" <= c <= "\udfff" for c in text):
        raise SettingsError(
            "The settings were not saved: a name in them is not valid Unicode; "
            "rename the port or the sheet."
        )
    standing = load_settings(path)
    if standing.problem:
        raise SettingsError(f"Not saved. {standing.problem}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _replace(path, text)
    except OSError as error:
        raise SettingsError(
            f"The settings were not saved: {path} cannot be written "
            f"({error.strerror}); check the folder's permissions."
        ) from error


def to_toml(settings: Settings) -> str:
    """Write the settings as commented TOML."""
    parts = [_HEADING]
    for field in fields(settings):
        if field.name in _COMMENTS:
            value = _toml_value(getattr(settings, field.name))
            parts.append(f"\n# {_COMMENTS[field.name]}\n{field.name} = {value}\n")
    return "".join(parts)


def _toml_value(value: object) -> str:
    """Write a TOML value; JSON's string escapes are TOML's, save for DEL."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _replace(path: Path, text: str) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=path.name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def units_of(asked: str | None) -> Units:
    """Return the units asked for; without, those the person has set."""
    from bridge.units import Units

    return load_settings().units if asked is None else Units(asked)
