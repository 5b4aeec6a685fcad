"""The shape of the house: who imports whom (the table of DEVELOPERS.md itself), how long things are, what may print,
open files or ask the time.
"""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "listkit"
FILES = sorted(PACKAGE.rglob("*.py"))
LONGEST_FILE, LONGEST_FUNCTION = 500, 50  # lines
MOST_PARAMETERS, MOST_BY_PLACE = 7, 5
PRINTERS = {"cli"}
OPENERS = {"read", "picture", "write", "save", "edit", "ledger", "cli", "actions", "pipeline"}
TIMERS = {"cli"}
PLAIN_NAMES = {"manager", "handler", "helper", "util", "utils", "service", "process", "misc"}
LATE = {
    "cli/": "",
    "__main__.py": "listkit.",
    "__init__.py": "",
    "units/money.py": "babel.",
    "compute/solver.py": "highspy",
}
"""Who may load a module when it is called for, and what its name begins with; DEVELOPERS.md says why."""
VAGUE = {"one", "ones", "found", "told", "own", "other", "words", "this", "that", "thing", "something", "said"}
"""Names that say nothing as parameters."""


@cache
def tree_of(path: Path) -> ast.Module:
    """Return the syntax tree of a module, which several tests walk."""
    return ast.parse(path.read_text(encoding="utf-8"))


def import_table() -> dict[str, set[str] | None]:
    """Return what each layer may import of ours, as DEVELOPERS.md has it; None for anything."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.partition("## Who may import whom")[2].partition("\n## ")[0]
    table: dict[str, set[str] | None] = {}
    for line in section.splitlines():
        match = re.fullmatch(r"\| ([a-z_, ]+) \| (.+) \|", line)
        if match and match[1] != "layer":
            stated = match[2].split(";")[0]
            rooms = {word.strip() for word in stated.split(",")} - {"nothing of ours"}
            allowed = None if stated == "anything" else rooms
            table.update(dict.fromkeys((layer.strip() for layer in match[1].split(",")), allowed))
    return table


TABLE = import_table()


def layer_of(path: Path) -> str:
    """Return the package or module directly under listkit/ that a file belongs to."""
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def imports(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.Call) and loads_late(node) and isinstance(node.args[0], ast.Constant):
            yield str(node.args[0].value)


def loads_late(call: ast.Call) -> bool:
    return ast.unparse(call.func).rpartition(".")[2] in {"import_module", "__import__"}


def loaded(tree: ast.Module) -> ast.Module:
    """Return the tree less what stands under `if TYPE_CHECKING` at its top, of which nothing is loaded."""
    body = [node for node in tree.body if not (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING")]
    return ast.Module(body, [])


def calls(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield ast.unparse(node.func)


def parameters(function: ast.FunctionDef | ast.AsyncFunctionDef) -> tuple[list[str], list[str]]:
    """Return the names that may be given by place, and those by name alone; without self."""
    args = function.args
    by_place = [arg.arg for arg in (*args.posonlyargs, *args.args) if arg.arg not in ("self", "cls")]
    return by_place, [arg.arg for arg in args.kwonlyargs]


def test_the_import_table_names_every_layer() -> None:
    there = {layer_of(path) for path in FILES} - {"__init__", "__main__"}
    assert there == set(TABLE)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_keeps_to_its_layer(path: Path) -> None:
    layer = layer_of(path)
    tree = tree_of(path)
    used = {name.split(".")[1] for name in imports(loaded(tree)) if name.startswith("listkit.")}
    allowed = TABLE.get(layer)
    assert layer in {"cli", "__main__"} or "cli" not in used, "nothing imports the command line"
    if allowed is not None and not layer.startswith("__"):
        assert used - allowed - {layer} == set()
    made = set(calls(tree))
    if layer not in PRINTERS:
        assert "print" not in made
    if layer not in OPENERS:
        assert not made & {"open", "os.open"}
    if layer not in TIMERS:
        assert not made & {"datetime.now", "datetime.datetime.now", "date.today", "datetime.date.today", "time.time"}
    assert not {name for name in imports(tree) if name.split(".")[0] in {"random", "secrets", "locale"}}


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_is_a_chapter_that_says_what_it_is_for(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= LONGEST_FILE
    tree = tree_of(path)
    assert not tree.body or ast.get_docstring(tree), "a module says what it is for"
    assert not set(path.stem.split("_")) & PLAIN_NAMES
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            given = [arg for arg in node.args if not isinstance(arg, ast.Starred)]
            assert len(given) <= MOST_BY_PLACE, f"line {node.lineno}: name the arguments of {ast.unparse(node.func)}"
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            inner = [part for part in ast.walk(node) if isinstance(part, (ast.Import, ast.ImportFrom))]
            assert not inner, f"{node.name} imports something"
            by_place, by_name = parameters(node)
            assert len(by_place) <= MOST_BY_PLACE, f"{node.name} takes {len(by_place)} arguments by place"
            assert len(by_place) + len(by_name) <= MOST_PARAMETERS, f"{node.name} takes too much"
            if not node.name.startswith("__"):  # Python itself calls it other
                vague = {name.lstrip("_") for name in by_place + by_name} & VAGUE
                assert not vague, f"{node.name}: {vague} say nothing"
            assert (node.end_lineno or 0) - node.lineno < LONGEST_FUNCTION, f"{node.name} is long"


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_modules_are_loaded_late_where_it_is_agreed_alone(path: Path) -> None:
    late = [node for node in ast.walk(tree_of(path)) if isinstance(node, ast.Call)]
    name = path.relative_to(PACKAGE).as_posix()
    begins = next((begin for place, begin in LATE.items() if name == place or name.startswith(place)), None)
    for call in filter(loads_late, late):
        assert begins is not None, f"line {call.lineno} loads a module late"
        what = call.args[0]
        assert not begins or (isinstance(what, ast.Constant) and str(what.value).startswith(begins)), ast.unparse(what)


def test_no_two_modules_import_each_other() -> None:
    """Not even around a corner: modules are taken away until none is left that imports nothing that is left."""
    names = {".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in FILES}
    waiting: dict[str, set[str]] = {}
    for name, path in names.items():
        waiting[name] = set()
        for node in tree_of(path).body:
            if isinstance(node, ast.ImportFrom) and node.module:
                members = {f"{node.module}.{alias.name}" for alias in node.names} & set(names)
                waiting[name] |= members or ({node.module} & set(names))
    while free := {name for name, needs in waiting.items() if not needs & set(waiting)}:
        for name in free:
            del waiting[name]
    assert waiting == {}


def test_the_top_level_is_closed() -> None:
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    made_by_tools = {"build", "dist", "listkit.egg-info", "__pycache__"}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "listkit", "templates", "tests", "demo_shop"}
    assert there - made_by_tools <= allowed
