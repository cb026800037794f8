"""Finding a sheet by path or by name, and reading it from wherever it lies."""

from __future__ import annotations

import difflib
import stat
from pathlib import Path

import profiles
from bridge.sheets.reading.assemble import parse_sheet
from bridge.units import printable
from bridge.values.errors import SheetError
from bridge.values.sheet import Sheet

_LARGEST_BYTES = 256 * 1024
_SUFFIX = ".toml"


def shipped_sheets() -> tuple[str, ...]:
    """Return the names of the sheets that come with sumpgate, in order."""
    stems = (_stem(entry.name) for entry in _shelf().iterdir())
    return tuple(sorted(stem for stem in stems if stem))


def find_sheet(name_or_path: str) -> Path:
    """Return the file of a shipped sheet's name, or of a path that is there.

    Raises:
        SheetError: it is neither.
    """
    if name_or_path in shipped_sheets():
        return _shelf() / f"{name_or_path}{_SUFFIX}"
    path = Path(name_or_path)
    if name_or_path and "\0" not in name_or_path and _is_there(path):
        return path
    raise _nowhere(name_or_path)


def load(name_or_path: str) -> Sheet:
    """Return a sheet by the name of a shipped one or by its path.

    Raises:
        SheetError: no such sheet, or a mistake in it.
    """
    return parse_sheet(*read_sheet_text(name_or_path))


def read_sheet_text(name_or_path: str) -> tuple[str, str]:
    """Return a sheet's text and what to call the place it came from.

    Raises:
        SheetError: no such sheet, or a file that cannot be read.
    """
    if name_or_path in shipped_sheets():
        entry = _shelf() / f"{name_or_path}{_SUFFIX}"
        return _decode(entry.read_bytes(), name_or_path), name_or_path
    path = find_sheet(name_or_path)
    return _decode(_read(path, str(path)), str(path)), str(path)


def load_sheet(path: Path) -> Sheet:
    """Return the sheet in a file.

    Raises:
        SheetError: the file cannot be read, or there is a mistake in the sheet.
    """
    origin = str(path)
    return parse_sheet(_decode(_read(path, origin), origin), origin)


def _shelf() -> Path:
    return Path(profiles.__file__).parent


def _stem(file_name: str) -> str:
    return file_name.removesuffix(_SUFFIX) if file_name.endswith(_SUFFIX) else ""


def _is_there(path: Path) -> bool:
    try:
        return path.exists() or path.is_symlink()
    except OSError:  # a name too long, a folder that may not be looked into
        return False


def _nowhere(asked: str) -> SheetError:
    names = shipped_sheets()
    stem = _stem(Path(asked.replace("\0", "")).name) or asked
    near = [name for name in names if stem and name.startswith(stem)]
    near += difflib.get_close_matches(stem[:100], names, n=1)
    remedy = (
        f'write "{near[0]}"'
        if near
        else f"give the path of a .toml file or one of {', '.join(names)}"
    )
    return SheetError(f'no sheet "{printable(asked, 200)}" was found; {remedy}.')


def _read(path: Path, origin: str) -> bytes:
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise _unread(origin, "is not a file; give the path of a .toml file")
        with path.open("rb") as file:
            content = file.read(_LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise _nowhere(origin) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise _unread(
            origin, f"cannot be read ({printable(why)}); check its path and permissions"
        ) from None
    if len(content) > _LARGEST_BYTES:
        raise _unread(origin, "is far too large for a sheet; give a sheet's .toml file")
    return content


def _decode(content: bytes, origin: str) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise _unread(
            origin,
            f"has a byte in line {line} that is not UTF-8; save it as UTF-8 text",
        ) from None


def _unread(origin: str, saying: str) -> SheetError:
    return SheetError(f"{printable(origin, 200)} {saying}.")
