"""Where problems stand that were found after reading: the line in the file, and the heading as the owner wrote it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from pydantic import BaseModel

from listkit.model.item import Item
from listkit.model.wholesale import Stockist
from listkit.problem import Place, Problem
from listkit.read.folder import SHOP, STOCKISTS, TABLES
from listkit.read.parts import read_settings
from listkit.read.position import locate
from listkit.read.source import Source, read_bytes, read_source
from listkit.read.table_file import Form, open_table


def with_lines(root: Path, problems: Iterable[Problem]) -> Iterator[Problem]:
    """Yield the problems, each with the line of its key or row where its file has one; every file is opened once."""

    @cache
    def text_of(file: str) -> str:
        source = read_source(root, file)
        return source.text if isinstance(source, Source) else ""

    @cache
    def table_of(file: str) -> _Places:
        return _places(root, file)

    for problem in problems:
        place = problem.place
        if not place.line and place.row and place.file.lower().endswith(TABLES):
            place = table_of(place.file).with_line(place)
        elif not place.line and place.key and place.file.endswith(".toml"):
            place = replace(place, line=locate(text_of(place.file), place.key)[0])
        yield problem if place is problem.place else replace(problem, place=place)


@dataclass(frozen=True, slots=True)
class _Places:
    """Where the codes of a table stand, and how its columns are headed."""

    lines: dict[str, int]
    headings: dict[str, str]

    def with_line(self, place: Place) -> Place:
        """Return the place with its line and the heading as the owner wrote it."""
        heading = self.headings.get(str(place.key[-1]) if place.key else "", place.column)
        return replace(place, line=self.lines.get(place.row, 0), column=heading)


def _places(root: Path, file: str) -> _Places:
    content = read_bytes(root, file)
    if isinstance(content, Problem):
        return _Places({}, {})
    form: Form[BaseModel] = Form(Stockist, {})
    if file != STOCKISTS:
        stated = read_settings(root, SHOP)[0].settings.items
        form = Form(Item, stated.columns, sheet=stated.sheet)
    sheet, headings, _ = open_table(file, content, form)
    if sheet is None or headings is None:
        return _Places({}, {})
    columns = {column.field: column for column in headings.columns}
    code = columns["code"].index if "code" in columns else 0
    below = [row for row in sheet.rows if row.line > headings.row.line]
    lines = {row.text(code): row.line for row in reversed(below)}
    return _Places(lines, {column.field: column.heading for column in headings.columns})
