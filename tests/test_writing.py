"""Every place where listkit writes, renames or deletes is a row of "Where listkit writes" in DEVELOPERS.md.

The search is of names: whatever object has a method of such a name is taken for a file until the row says so.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[1]
PACKAGE: Final = ROOT / "listkit"
# Methods and functions that change a disk whatever their arguments are; `replace` and `remove` only of `os`, or with
# the arguments of pathlib, since texts and lists have them too.
ALWAYS: Final = {
    "write_text", "write_bytes", "unlink", "rmdir", "removedirs", "rmtree", "mkdir", "makedirs", "symlink",
    "symlink_to", "hardlink_to", "link", "rename", "renames", "truncate", "ftruncate", "chmod", "copyfile",
    "copy2", "copytree", "copyfileobj", "mkstemp", "mkdtemp", "TemporaryDirectory", "NamedTemporaryFile",
    "TemporaryFile", "SpooledTemporaryFile", "extractall", "extract", "touch", "mkfifo", "mknod", "utime",
}  # fmt: skip
WITH_OS: Final = {"replace", "remove", "link", "rename", "write", "pwrite", "writev", "chown"}
READING: Final = re.compile(r"os\.O_RDONLY( \| os\.O_(CLOEXEC|NOFOLLOW|DIRECTORY|NONBLOCK))*")
WRITING: Final = re.compile(r"[wxa+]")


def writes(call: ast.Call) -> bool:
    """Whether a call may change a disk."""
    function = call.func
    name = function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")
    owner = ast.unparse(function.value) if isinstance(function, ast.Attribute) else ""
    if name == "connect":
        return owner == "sqlite3"
    if owner == "os" and name == "open" and READING.fullmatch(ast.unparse(call.args[1])):
        return False
    if owner == "shutil" or (owner == "os" and name in {"open", *WITH_OS}):
        return name not in {"which", "disk_usage", "get_terminal_size"}
    if name in {"open", "fdopen", "ZipFile", "Workbook"}:
        return name == "Workbook" or any(WRITING.search(mode) for mode in _modes(call))
    if name == "replace" and len(call.args) == 1 and not call.keywords and owner not in {"", "dataclasses"}:
        return True  # of pathlib: a text's takes two
    return name in ALWAYS and not (name == "link" and not owner)


def _modes(call: ast.Call) -> Iterator[str]:
    """Yield the texts among the arguments that can be modes of opening, and "w" for one that cannot be read here."""
    stated = [keyword.value for keyword in call.keywords if keyword.arg == "mode"]
    for argument in (*call.args, *stated):
        if isinstance(argument, ast.Constant) and isinstance(argument.value, str):
            if len(argument.value) <= 3:
                yield argument.value
        elif argument in stated:
            yield "w"


def places(path: Path) -> Iterator[str]:
    """Yield "save/place.py placed" for each function of a module that writes, classes with their methods."""

    def walk(node: ast.AST, within: str) -> Iterator[str]:
        for child in ast.iter_child_nodes(node):
            named = isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef))
            inner = f"{within}.{child.name}".lstrip(".") if named else within  # type: ignore[attr-defined]
            if isinstance(child, ast.Call) and writes(child):
                yield f"{path.relative_to(PACKAGE).as_posix()} {within}".strip()
            yield from walk(child, inner)

    yield from walk(ast.parse(path.read_text(encoding="utf-8")), "")


def rows() -> dict[str, tuple[str, ...]]:
    """Return the table's rows by their places, which a row may name several of."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## Where listkit writes")[2]
    table: dict[str, tuple[str, ...]] = {}
    for line in text.partition("\n## ")[0].splitlines():
        cells = tuple(cell.strip() for cell in line.strip("|").split(" | "))
        if line.startswith("| `"):
            module, _, functions = cells[0].partition("` ")
            for function in re.findall(r"`([^`]+)`", functions):
                table[f"{module.strip('`')} {function}"] = cells
    return table


def test_every_place_that_writes_is_in_the_table_and_the_table_names_no_other() -> None:
    there = {place for path in PACKAGE.rglob("*.py") for place in places(path)}
    assert there - rows().keys() == set(), (
        "write a row of it in DEVELOPERS.md, with what guards it and which test proves it"
    )
    assert rows().keys() - there == set(), "the row names a place that writes nothing"


def test_every_row_says_what_it_touches_what_guards_it_and_names_a_test_that_is_there() -> None:
    for place, cells in rows().items():
        assert len(cells) == 4, place
        assert all(cells), place
        named = re.findall(r"`(tests/[\w/]+\.py)(?:::(\w+))?`", cells[3])
        assert named, place
        for file, test in named:
            assert test in (ROOT / file).read_text(encoding="utf-8"), (place, file, test)


def found(code: str) -> bool:
    return any(writes(node) for node in ast.walk(ast.parse(code)) if isinstance(node, ast.Call))


def test_the_search_finds_every_way_of_writing_and_passes_over_what_only_reads() -> None:
    ways = [
        'open(p, "w")', 'open(p, mode="ab")', "open(p, mode=m)", 'p.open("xb")', 'p.open("r+")', "p.write_text(t)",
        "p.write_bytes(b)", "os.replace(a, b)", "a.replace(b)", "a.rename(b)", "p.unlink()", "os.remove(p)",
        "shutil.rmtree(p)", "p.mkdir()", "os.symlink(a, b)", "a.symlink_to(b)", "sqlite3.connect(p)",
        "tempfile.mkstemp()", "os.open(p, os.O_RDWR | os.O_CREAT)", "os.open(p, flags)", "os.fdopen(n, 'w')",
        "shutil.copyfile(a, b)", "zipfile.ZipFile(p, 'w')", "os.truncate(p, 0)", "p.touch()", "os.write(n, b)",
    ]  # fmt: skip
    assert [way for way in ways if not found(way)] == []
    reads = [
        "open(p)",
        'p.open("rb")',
        'p.open(encoding="utf-8")',
        't.replace("a", "b")',
        "replace(a, b=c)",
        "l.remove(x)",
    ]
    assert [way for way in reads if found(way)] == []
