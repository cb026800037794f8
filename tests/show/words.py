"""Writes docs/words.md: the glossary, and every sentence of tui/words with its place.

``python tests/show/words.py`` writes it anew; ``--check`` says whether it is stale.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "words.md"
LIST = "## Every sentence\n"
_SHOWN = {
    "amount_words": "the service's pages about amounts",
    "countdown": "the two countdowns",
    "figures": "wherever a number stands",
    "line_words": "answers to a typed line",
    "link_wording": "below the car's values, in errors, by `adapter`",
    "outlook_wording": "beside the countdowns",
    "page_words": "the service's pages",
    "pages": "the cautions at the start, the help",
    "phone_words": "the phone's page and its server",
    "plain_words": "`--plain`",
    "reason_words": "under the banner",
    "result_words": "the result's panel, the phone, the service",
    "screen_words": "the live screen",
    "search_wording": "`find`",
    "service_words": "the service's note line",
    "sheet_text": "`sheet show`",
    "start_words": "the start screen",
    "step_wording": "under the banner, the phone",
    "thermometer_wording": "below the car's values",
    "wording": "under the banner, the list of conditions",
}


def sentences(path: Path) -> Iterator[str]:
    """Yield every text of a module that has a blank in it and is no docstring."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            skipped.add(id(node.value))
        elif isinstance(node, ast.JoinedStr):
            parts = [
                v.value if isinstance(v, ast.Constant) else "…" for v in node.values
            ]
            skipped |= {id(value) for value in node.values}
            yield from _worth("".join(map(str, parts)))
    for node in ast.walk(tree):
        told = isinstance(node, ast.Constant) and isinstance(node.value, str)
        if told and id(node) not in skipped:
            yield from _worth(str(ast.literal_eval(node)))


def _worth(text: str) -> Iterator[str]:
    text = re.sub(r"\{[^{}]*\}", "…", " ".join(text.split()))
    pattern = "|" in text  # what a line is known by, never shown
    if " " in text and not pattern and any(c.isalpha() for c in text.replace("…", "")):
        yield text


def listed() -> str:
    """Return the list as Markdown."""
    parts = [LIST]
    for path in sorted((ROOT / "tui" / "words").rglob("*.py")):
        found = sorted(set(sentences(path)))
        if found:
            where = _SHOWN.get(path.stem, "several places")
            parts.append(f"\n### {path.stem}: {where}\n\n")
            parts += [f"- {text}\n" for text in found]
    return "".join(parts)


def page() -> str:
    """Return the whole page: what is written by hand, and the list."""
    by_hand = PAGE.read_text(encoding="utf-8").partition(LIST)[0]
    return by_hand + listed()


if __name__ == "__main__":
    if "--check" in sys.argv:
        sys.exit(0 if page() == PAGE.read_text(encoding="utf-8") else 1)
    PAGE.write_text(page(), encoding="utf-8")
