"""The registries hold what is there: nothing is left unregistered, untold or untested."""

import ast
import re
from pathlib import Path

import pytest

from listkit.check.rules import CHECKS, CODES, RULES
from listkit.cli import COMMANDS
from listkit.write import WRITERS

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "listkit"
README = (ROOT / "README.md").read_text(encoding="utf-8")


# Nothing in a shop's files can make two channels ask unlike prices yet; tests/check/test_parity.py shows it by hand.
# What a shop that buys from us writes into its form stands in no shop folder; tests/check/test_order.py shows it. Nor
# do tables of what is to be printed; tests/cli/test_print.py shows them. Wishes that cannot be kept together are found
# when pieces are shared out, not when a shop is checked; tests/cli/test_allot.py shows them.
WITHOUT_A_SHOP = {
    "price-parity", "order-packs", "order-sum", "order-late", "order-stock", "order-twice", "print-asked",
    "message-card", "stock-added", "allotment-impossible",
}  # fmt: skip


def functions(path: Path) -> set[str]:
    """The names of a module's own functions."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_every_module_that_writes_is_registered() -> None:
    writers = set()
    for path in (PACKAGE / "write").glob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and [arg.arg for arg in node.args.args] == ["listings", "context"]:
                writers.add((path.stem, node.name))
    registered = {(write.__module__.rpartition(".")[2], write.__name__) for write in WRITERS.values()}
    assert registered | {("__init__", "jobs_of")} == writers


_SOURCES = re.compile(
    r"source|from memory|by hand|\b(?:CFR|Regulation|Directive|GS1|ISO|IEC|RFC|CLDR|WCAG|NIST|Unicode|Convention)\b"
)


@pytest.mark.parametrize("room", ["check", "compute"])
def test_every_module_of_tests_of_rules_names_its_sources_or_that_there_is_none(room: str) -> None:
    tests = sorted((ROOT / "tests" / room).glob("test_*.py"))
    assert tests
    silent = [path.name for path in tests if not _SOURCES.search(path.read_text(encoding="utf-8"))]
    assert silent == []


def test_every_code_has_one_row() -> None:
    assert len(CODES) == len(RULES)


def test_every_rule_is_registered() -> None:
    registered = {(check.__module__.rpartition(".")[2], check.__name__) for check in CHECKS.values()}
    rules = set()
    for path in (PACKAGE / "check").glob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and [arg.arg.lstrip("_") for arg in node.args.args] == [
                "listings",
                "context",
            ]:
                rules.add((path.stem, node.name))
    assert {rule for rule in rules if not rule[1].startswith("_")} - {("__init__", "check_listings")} == registered


def test_every_command_is_registered_and_told() -> None:
    commands = {path.stem for path in (PACKAGE / "cli").glob("*.py") if {"run", "add_arguments"} <= functions(path)}
    assert set(COMMANDS) == commands
    assert all(f"`listkit {name}`" in README for name in COMMANDS)


@pytest.mark.parametrize("code", sorted(CODES.keys() - WITHOUT_A_SHOP))
def test_every_code_has_a_shop_with_that_one_fault(code: str) -> None:
    folders = [path.name for path in (ROOT / "tests/problems").iterdir()]
    assert [name for name in folders if name.partition("+")[0] == code], f"tests/problems/{code} is missing"


def test_every_module_is_named_in_a_test() -> None:
    """By its own test file, or with a neighbour's: some test imports it or runs it as a command."""
    reached, untested = imported(), []
    for path in PACKAGE.rglob("*.py"):
        relative = path.relative_to(PACKAGE)
        dotted = ".".join(("listkit", *relative.with_suffix("").parts))
        own = ROOT / "tests" / relative.parent / f"test_{path.name}"
        if not (path.name.startswith("__") or own.is_file() or dotted in reached):
            untested.append(dotted)
    assert untested == []


def imported() -> frozenset[str]:
    """Every module of ours that tests name, and all that those import, since a command is tested as it is run."""
    known = {}
    for path in PACKAGE.rglob("*.py"):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        known[".".join(("listkit", *(part for part in parts if part != "__init__")))] = path
    waiting = [name for path in (ROOT / "tests").rglob("*.py") for name in named(path)]
    waiting += [f"listkit.cli.{name}" for name in COMMANDS]
    found: set[str] = set()
    while waiting:
        name = waiting.pop()
        if name in known and name not in found:
            found.add(name)
            waiting += named(known[name])
    return frozenset(found)


def named(path: Path) -> list[str]:
    """The modules that a file imports, and those it names to be loaded late."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = []
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            names += [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
        elif isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.startswith("listkit."):
            names.append(node.value)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.endswith(".py"):
            beside = path.with_name(Path(node.value).name)  # run by its file, in a process of its own
            if PACKAGE in beside.parents:
                names.append(".".join(("listkit", *beside.relative_to(PACKAGE).with_suffix("").parts)))
    return names
