"""The rules of the house that no linter knows: small rooms, each named; no circles."""

from __future__ import annotations

import ast
import graphlib
import sys
from pathlib import Path

import grimp

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("bridge", "tui", "simulators")
MOST_FILES = 15
"""Modules in one folder, `__init__` not counted."""
MOST_LINES = 400
WORDLESS = tuple(
    f"tui/{name}"
    for name in (
        *("feeds", "headless", "inputs", "live", "phone", "search", "service"),
        *("start", "widgets"),
    )
)
"""Folders whose sentences stand in tui/words."""
MOST_WORDS = 3
"""In one string of those folders: a label, a key's name, a heading."""
TOO_LONG = {"tui/live/app.py": 482}
"""Files over MOST_LINES today: they may shrink, not grow."""


def crowded(root: Path) -> list[str]:
    """Return a sentence for each folder with too many modules or no docstring."""
    said = []
    for folder in sorted(
        {p.parent for k in (*PACKAGES, "tests") for p in (root / k).rglob("*.py")}
    ):
        name = folder.relative_to(root)
        modules = [p for p in folder.glob("*.py") if p.name != "__init__.py"]
        if len(modules) > MOST_FILES:
            said.append(f"{name} holds {len(modules)} modules, {MOST_FILES} at most")
        if name.parts[0] == "tests":  # no packages: pytest imports them by their path
            continue
        room = folder / "__init__.py"
        if not room.exists() or not ast.get_docstring(
            ast.parse(room.read_text("utf-8"))
        ):
            said.append(f"{name}/__init__.py does not say what lives there")
    return said


def twice_named(root: Path) -> list[str]:
    """Return a sentence for each module or public class name that names two things."""
    where: dict[str, list[str]] = {}
    for path in sorted(p for k in PACKAGES for p in (root / k).rglob("*.py")):
        if not path.stem.startswith("__"):
            where.setdefault(path.name, []).append(str(path.parent.relative_to(root)))
        for node in ast.walk(ast.parse(path.read_bytes())):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                where.setdefault(node.name, []).append(str(path.relative_to(root)))
    return [f"{n} stands in {', '.join(w)}" for n, w in where.items() if len(w) > 1]


def long_files(root: Path) -> list[str]:
    """Return a sentence for each module that is too long."""
    said = []
    for path in sorted(p for k in PACKAGES for p in (root / k).rglob("*.py")):
        name = path.relative_to(root).as_posix()
        lines, most = len(path.read_text("utf-8").splitlines()), TOO_LONG.get(name)
        if lines > (most or MOST_LINES):
            said.append(f"{name} has {lines} lines, {most or MOST_LINES} at most")
    return said


def circle(graph: grimp.ImportGraph) -> list[str]:
    """Return the modules of one import circle, type-only imports included; or none."""
    wanted = {m: graph.find_modules_directly_imported_by(m) for m in graph.modules}
    try:
        graphlib.TopologicalSorter(wanted).prepare()
    except graphlib.CycleError as found:
        return list(found.args[1])
    return []


def _offered(root: Path, module: str) -> set[str]:
    """Return the names a module of the program offers, its submodules included."""
    place = root.joinpath(*module.split("."))
    file = place.with_suffix(".py")
    room = file if file.exists() else place / "__init__.py"
    names = {p.stem for p in place.glob("*")}
    if not room.exists():
        return names
    for node in ast.parse(room.read_text("utf-8")).body:
        match node:
            case ast.FunctionDef() | ast.AsyncFunctionDef() | ast.ClassDef():
                names.add(node.name)
            case ast.Import() | ast.ImportFrom():
                names |= {a.asname or a.name for a in node.names}
            case ast.Assign() | ast.AnnAssign():
                names |= {n.id for n in ast.walk(node) if isinstance(n, ast.Name)}
    return names


def stale(root: Path) -> list[str]:
    """Return a sentence for each name a show asks for that the program no longer has.

    Nobody runs all the shows at every commit, and the type checker does not see them.
    """
    said = []
    for path in sorted((root / "tests" / "show").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            module = node.module or "" if isinstance(node, ast.ImportFrom) else ""
            if module.split(".")[0] in (*PACKAGES, "tests"):
                has = _offered(root, module)
                said += [
                    f"{path.relative_to(root)} asks {module} for {a.name}: gone"
                    for a in node.names
                    if a.name not in has
                ]
    return said


def _unread(tree: ast.Module) -> set[ast.AST]:
    """Return what no person reads on a screen, or reads beside a flag.

    Docstrings, style sheets, HTTP headers, a command; the kind of a refusal, which goes
    into a log; what a UsageError says, which speaks of flags and stays beside them.
    """
    found: set[ast.AST] = set()
    for node in ast.walk(tree):
        match node:
            case ast.Expr(value=ast.Constant()):
                found.add(node.value)
            case ast.Assign(
                targets=[ast.Name(id="CSS" | "POLICY" | "HEADERS" | "_POWERSHELL")]
            ):
                found.update(ast.walk(node))
            case ast.keyword(arg="kind") | ast.Call(func=ast.Name(id="UsageError")):
                found.update(ast.walk(node))
    return found


def spoken(root: Path) -> list[str]:
    """Return a sentence for each one that stands outside tui/words."""
    said = []
    for path in sorted(p for k in WORDLESS for p in (root / k).rglob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        skipped = _unread(tree)
        for node in ast.walk(tree):  # an f-string comes before its parts
            match node:
                case ast.JoinedStr(values=parts):
                    fixed = [p for p in parts if isinstance(p, ast.Constant)]
                case ast.Constant(value=str()):
                    fixed = [node]
                case _:
                    continue
            if node not in skipped:
                skipped.update(fixed)
                words = " ".join(str(p.value) for p in fixed).split()
                if sum(any(map(str.isalpha, w)) for w in words) > MOST_WORDS:
                    at = f"{path.relative_to(root).as_posix()}:{node.lineno}"
                    said.append(f"{at} says {' '.join(words)!r}: to tui/words with it")
    return said


def loose(root: Path) -> list[str]:
    """Return a sentence for each `told` that is not the log of what a person told."""
    said, good = [], set()
    for path in sorted(p for k in PACKAGES for p in (root / k).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            match node:  # a statement comes before the name it binds
                case ast.AnnAssign(target=name, annotation=ast.expr() as kind):
                    good |= {name} if "Log" in ast.unparse(kind) else set()
                case ast.Assign(targets=[ast.Name() as name], value=value):
                    good |= {name} if ".told" in ast.unparse(value) else set()
                case ast.arg(annotation=kind) | ast.FunctionDef(returns=kind):
                    good |= {node} if kind and "Log" in ast.unparse(kind) else set()
            match node:
                case (
                    ast.Name(id="told", ctx=ast.Store())
                    | ast.arg(arg="told")
                    | ast.FunctionDef(name="told")
                ) if node not in good:
                    at = f"{path.relative_to(root).as_posix()}:{node.lineno}"
                    said.append(f"{at} calls told what is no Log: say what it is")
    return said


def main() -> int:
    """Print every broken rule; return 1 if there is one."""
    sys.path.insert(0, str(ROOT))
    said = crowded(ROOT) + long_files(ROOT) + twice_named(ROOT) + stale(ROOT)
    said += spoken(ROOT) + loose(ROOT)
    if found := circle(grimp.build_graph(*PACKAGES, cache_dir=None)):
        said.append(f"imports run in a circle: {' -> '.join(found)}")
    for line in said:
        print(line)
    return 1 if said else 0


if __name__ == "__main__":
    sys.exit(main())
