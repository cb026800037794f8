"""What versions before this one kept beside the job files: read once, then removed."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge.values.sheet import Sheet


def job_from_before(sheet: Sheet) -> Path | None:
    """Return the job file this sheet's service was begun in; None: none is noted.

    The level step that was noted as well is in the job file itself.
    """
    from platformdirs import user_state_path

    folder = user_state_path("sumpgate", appauthor=False)
    found: Path | None = None
    with contextlib.suppress(OSError, ValueError, RecursionError, KeyError, TypeError):
        kept = json.loads((folder / "services.json").read_text("utf-8"))
        found = Path(kept[f"{sheet.name} ({sheet.origin})"]["job"])
    for name in ("level-step.json", "services.json"):
        with contextlib.suppress(OSError):
            (folder / name).unlink(missing_ok=True)
    return found
