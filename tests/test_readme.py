"""The README's tables are made from the code; `pytest --update-golden tests/test_readme.py` writes them anew."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from listkit.cli import COMMANDS
from listkit.cli.schema import FILES, schema_of
from listkit.fields import FIELDS

README = Path(__file__).parents[1] / "README.md"


def command_table() -> str:
    """A row a command."""
    rows = [f"| `listkit {name}` | {says} |" for name, says in COMMANDS.items()]
    return "\n".join(["| command | does |", "|---|---|", *rows])


def field_table() -> str:
    """A row a field."""
    rows = [
        f"| `{field.name}{'_1 …' if field.many else ''}` | {field.kind} | {field.meaning} | {cell(field.example)} |"
        for field in FIELDS.values()
    ]
    return "\n".join(["| field | kind | meaning | example |", "|---|---|---|---|", *rows])


def key_tables() -> str:
    """A table for every file of a shop folder, a row a key."""
    return "\n\n".join(f"**{file}**\n\n{key_table(file, schema_of(model))}" for file, model in FILES.items())


def key_table(file: str, schema: dict[str, Any]) -> str:
    """A row a key; a table's headings are written with spaces."""
    apart = " " if file.endswith(".csv") else "_"
    rows = [
        f"| {key.replace('_', apart)} | {says} | {cell(example)} |"
        for key, says, example in keys_of(schema, schema, 0)
    ]
    return "\n".join(["| key | says | as in |", "|---|---|---|", *rows])


def keys_of(part: dict[str, Any], schema: dict[str, Any], depth: int) -> Iterator[tuple[str, str, str]]:
    """Every key below `part` with its description and an example; keys of a table within it follow, set in."""
    required = part.get("required", [])
    for key, value in part.get("properties", {}).items():
        inner = inner_of(value, schema)
        says = value.get("description") or inner.get("description", "")
        needed = " *Needed.*" if key in required and not depth else ""
        yield "– " * depth + f"`{key}`", says + needed, example_of(value)
        if inner:
            yield from keys_of(inner, schema, depth + 1)


def inner_of(value: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    """The table or tables that a value is, with the keys of all its forms."""
    found: dict[str, Any] = {}
    names = re.findall(r"'\$ref': '#/\$defs/(\w+)'", repr(value))
    for one in (schema["$defs"][name] for name in names):
        if "properties" in one:
            found = {**one, "properties": {**found.get("properties", {}), **one["properties"]}}
    return found


def example_of(value: dict[str, Any]) -> str:
    """What the key may look like."""
    choices = value.get("enum") or next((one["enum"] for one in value.get("anyOf", []) if "enum" in one), None)
    if choices:
        return " ".join(f"`{choice}`" for choice in choices)
    examples: list[str] = [example for one in (value, *value.get("anyOf", [])) for example in one.get("examples", [])]
    return f"`{examples[0]}`" if examples else ""


def cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\t", "tab")


TABLES = {"commands": command_table, "fields": field_table, "keys": key_tables}


@pytest.mark.parametrize("name", TABLES)
def test_the_readme_tells_what_the_code_has(name: str, request: pytest.FixtureRequest) -> None:
    text = README.read_text(encoding="utf-8")
    before, after = f"<!-- {name} -->\n", f"\n<!-- end of {name} -->"
    start, end = text.index(before) + len(before), text.index(after)
    if request.config.getoption("--update-golden"):
        text = text[:start] + TABLES[name]() + text[end:]
        README.write_text(text, encoding="utf-8")
        end = text.index(after)
    assert text[start:end] == TABLES[name]()
