"""How the site is made: `make docs`, by Sphinx (BSD) from the Markdown there is."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))
from bridge import VERSION

project = "sumpgate"
release = VERSION
extensions = ["myst_parser"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["report", "screens"]
myst_heading_anchors = 3
myst_url_schemes = ["http", "https", "mailto"]
highlight_language = "none"  # what is typed is no Python
smartquotes = False  # nor are the quotes of a sheet to be rounded
html_theme = "furo"
html_static_path = ["site.css"]
html_css_files = ["site.css"]
html_title = "sumpgate"
html_show_sphinx = False
html_extra_path = ["report"]

# Pages that stand elsewhere in the repository are taken in by those of these names.
_HERE = {
    "profiles/README.md": "sheets.md",
    "README.md": "sheets.md",  # beside the sheets
    "DEVELOPERS.md": "developers.md",
    "CONTRIBUTING.md": "contributing.md",
    "CHANGELOG.md": "changelog.md",
    "SECURITY.md": "security.md",
    "sheet.schema.json": "../profiles/sheet.schema.json",
}


def _lead_here(text: str) -> str:
    """Let links to pages of the repository lead to the site's own."""
    for there, here in _HERE.items():
        for spelt in (there, f"../{there}"):
            text = text.replace(f"]({spelt})", f"]({here})")
    return text.replace("](docs/", "](")


def _included(_app: Any, _parent: Any, _relative: Any, content: list[str]) -> None:
    content[0] = _lead_here(content[0])


def _read(_app: Any, _docname: str, content: list[str]) -> None:
    content[0] = _lead_here(content[0])


def setup(app: Any) -> None:
    """Sphinx calls this."""
    app.connect("source-read", _read)
    app.connect("include-read", _included)
