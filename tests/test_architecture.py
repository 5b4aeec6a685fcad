"""The shape of the house: who imports whom, how long files are, what may print, open files or ask the time."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "listkit"
FILES = sorted(PACKAGE.rglob("*.py"))
LONGEST = 500

# Each layer and what it may import of ours; a module or package directly under listkit/ is its own layer.
LAYERS: dict[str, set[str]] = {
    "problem": set(),
    "bounds": set(),
    "bounded_toml": set(),
    "shipped": set(),
    "ending": set(),
    "save": {"problem"},
    "units": {"problem"},
    "model": {"units", "problem"},
    "fields": {"units"},
    "picture": {"model", "units", "problem"},
    "read": {"bounded_toml", "model", "units", "problem", "picture", "shipped"},
    "compute": {"model", "units", "problem"},
    "listing": {"bounded_toml", "compute", "fields", "model", "units", "problem"},
    "check": {"bounded_toml", "listing", "compute", "fields", "model", "units", "problem"},
    "write": {"listing", "compute", "picture", "fields", "model", "units", "problem", "save"},
    "ledger": {"fields", "save", "problem", "units"},
    "learn": {"fields", "model", "units", "problem"},
    "edit": {"fields", "model", "units", "problem"},
    "pipeline": {"read", "compute", "listing", "check", "write", "save", "ledger", "model", "units", "problem"},
}
BELOW = {*LAYERS}
LAYERS |= {"actions": BELOW, "present": BELOW | {"actions"}}
# Layers that name types of another under `if TYPE_CHECKING`, and load nothing of it.
TYPES_ONLY = {"fields": {"listing"}}
ANYTHING = {"cli", "__main__", "__init__"}
PRINTERS = {"cli"}
OPENERS = {"read", "picture", "write", "save", "edit", "cli"}
TIMERS = {"cli"}
PLAIN_NAMES = {"manager", "handler", "helper", "util", "utils", "service", "process", "misc"}


def layer_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return parts[0]


def imports(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def without_types_only(tree: ast.Module) -> ast.Module:
    """The tree less what stands under `if TYPE_CHECKING` at its top."""
    body = [node for node in tree.body if not (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING")]
    return ast.Module(body, [])


def layers_used(tree: ast.AST) -> set[str]:
    return {name.split(".")[1] for name in imports(tree) if name.startswith("listkit.") or name == "listkit."}


def calls(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield ast.unparse(node.func)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_keeps_to_its_layer(path: Path) -> None:
    layer = layer_of(path)
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert layer in {"__main__", "cli"} or "cli" not in layers_used(tree), "nothing below imports the command line"
    if layer not in ANYTHING:
        assert layers_used(without_types_only(tree)) - LAYERS[layer] - {layer, "bounds"} == set()
        assert layers_used(tree) - LAYERS[layer] - {layer, "bounds"} - TYPES_ONLY.get(layer, set()) == set()
    made = set(calls(tree))
    if layer not in PRINTERS:
        assert "print" not in made
    if layer not in OPENERS:
        assert not made & {"open", "os.open"}
    if layer not in TIMERS:
        assert not made & {"datetime.now", "datetime.datetime.now", "date.today", "datetime.date.today", "time.time"}
    assert not {name for name in imports(tree) if name.split(".")[0] in {"random", "secrets", "locale"}}


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_is_short_opens_with_what_it_is_for_and_imports_at_its_top(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= LONGEST
    tree = ast.parse(text)
    assert not tree.body or ast.get_docstring(tree), "a module says what it is for"
    assert not set(path.stem.split("_")) & PLAIN_NAMES
    for node in ast.walk(tree):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            inner = [part for part in ast.walk(node) if isinstance(part, (ast.Import, ast.ImportFrom))]
            assert not inner, f"{node.name} imports something"


def test_the_top_level_is_closed() -> None:
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    made_by_tools = {"build", "dist", "listkit.egg-info", "__pycache__"}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "listkit", "templates", "tests", "demo_shop"}
    assert there - made_by_tools <= allowed
