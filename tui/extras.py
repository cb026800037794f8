"""What is installed only where it is wanted, and the sentence where it is not."""

from __future__ import annotations

from importlib.util import find_spec
from typing import Literal

from bridge.values.errors import UsageError

Extra = Literal["pdf", "phone"]
_NEEDED: dict[Extra, tuple[str, tuple[str, ...]]] = {
    "pdf": ("the PDF", ("reportlab",)),
    "phone": ("the phone page", ("h11", "segno", "starlette", "uvicorn")),
}


def need(extra: Extra) -> None:
    """Refuse what this installation has not got, before anything else is done.

    Raises:
        UsageError: packages are missing; it says what to install.
    """
    what, packages = _NEEDED[extra]
    missing = [name for name in packages if find_spec(name) is None]
    if missing:
        raise UsageError(
            f"{what} needs packages that are not installed ({', '.join(missing)}): "
            f"pip install 'sumpgate[{extra}]' brings them"
        )
