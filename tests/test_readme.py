"""The README's tables are made from the code; `pytest --update-golden tests/test_readme.py` writes them anew."""

import inspect
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from listkit.cli import COMMANDS, main
from listkit.fields import FIELDS
from listkit.listing.rows import feed_columns, feed_rows
from listkit.listing.template_values import FILTERS
from listkit.present.schema import FILES, schema_of
from listkit.read.faults import toml_text
from tests.shops import DEMO
from tests.write.two_sets import channel, own

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


# A filter in a column: what is written there, and in the table beside it what comes of it in one row.
FILTER_EXAMPLES = {
    "in_currency": "price | in_currency",
    "number": "fillShare | number(2)",
    "places": "price | places(3)",
    "weight": "parcelWeight | weight('oz')",
    "to": "width | to('in') | places(2)",
    "date": "priceValidUntil | date('day')",
    "join": "itemCodes | join(' + ')",
    "first": "keywords | first",
    "last": "itemCodes | last",
    "length": "contents | length",
    "default": "choice_3 | default('none')",
    "cut": "theme | cut(20)",
    "upper": "setName | upper",
    "lower": "setName | lower",
    "trim": "setName | trim",
    "slug": "setName | slug",
    "html": "theme | html",
    "plain": "theme | plain",
    "markdown": "setName | markdown",
}


def filter_table() -> str:
    """A row a filter: its own description, and an example as a feed has it."""
    values = {name: "{{ " + value + " }}" for name, value in FILTER_EXAMPLES.items()}
    made = channel(
        column=[{"heading": name, "value": value} for name, value in values.items()], dialect={"guard_formulas": False}
    )
    columns = feed_columns(made, own(made))
    cells = dict(zip(values, next(feed_rows(made, own(made), columns)), strict=True))
    rows = [
        f"| `{filter_name(name)}` | {one_line(FILTERS[name].__doc__)} | `{cell(values[name])}` | {shown(cells[name])} |"
        for name in FILTERS
    ]
    return "\n".join(["| filter | gives | as in | which is |", "|---|---|---|---|", *rows])


def filter_name(name: str) -> str:
    """The filter with the names of what it takes in brackets, in [ ] what may be left out."""
    own_ones = list(inspect.signature(FILTERS[name]).parameters.values())[2:]
    taken = [one.name if one.default is one.empty else f"[{one.name}]" for one in own_ones]
    return f"{name}({', '.join(taken)})" if taken else name


def one_line(text: str | None) -> str:
    return cell(" ".join((text or "").split()))


def shown(text: str) -> str:
    return f"`{one_line(text)}`" if "<" in text else one_line(text)


def key_tables() -> str:
    """A table for every file of a shop folder, a row a key; folded, so that a page shows the names of the files."""
    return "\n\n".join(
        f"<details>\n<summary><b>{file}</b></summary>\n\n{key_table(file, schema_of(model))}\n\n</details>"
        for file, model in FILES.items()
    )


def key_table(file: str, schema: dict[str, Any]) -> str:
    """A row a key; a table's headings are written with spaces."""
    apart = " " if file.endswith(".csv") else "_"
    rows = [
        f"| {key.replace('_', apart)} | {says} | {cell(example)} |" for key, says, example in keys_of(schema, schema, 0)
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
    examples: list[Any] = [example for one in (value, *value.get("anyOf", [])) for example in one.get("examples", [])]
    return f"`{toml(examples[0])}`" if examples else ""


def toml(example: Any) -> str:
    """An example as it is written in a file; a text bare, as most of them are shown."""
    return example if isinstance(example, str) else toml_text(example)


def cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\t", "tab")


TABLES = {"commands": command_table, "fields": field_table, "filters": filter_table, "keys": key_tables}


def test_every_filter_has_an_example_of_its_own() -> None:
    assert FILTER_EXAMPLES.keys() == FILTERS.keys()
    for name, value in FILTER_EXAMPLES.items():
        assert f"| {name}" in value


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


@pytest.mark.parametrize("command", ["allot", "plan"])
def test_what_the_readme_shows_of_the_demo_is_what_it_says(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Of the 25th of November; lines that are left out are dots."""
    text = README.read_text(encoding="utf-8")
    shown = text.partition(f"`listkit {command} --shop demo_shop")[2].partition("```\n")[2].partition("```")[0]
    look = ["--look"] if command == "allot" else []
    main([command, "--shop", str(DEMO), "--today", "2026-11-25", *look])
    said = capsys.readouterr().out.splitlines()
    lines = [line for line in shown.splitlines() if line != "..."]
    assert len(lines) > 5
    assert [line for line in said if line in lines] == lines
