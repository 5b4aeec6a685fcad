"""Shelf: the items sheet as a table in pages, and the sets that share what is on hand.

The table has the cells as they are written, sound or not; what sets share comes from the catalog.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from listkit.compute.catalog import Catalog, SetFacts
from listkit.desk import changes
from listkit.desk.edits import Files, Role, Target, look
from listkit.desk.page import Desk, page, say
from listkit.desk.set_view import marks_of
from listkit.desk.state import Seen, known_problems
from listkit.desk.tables import Line, Lines, PutCell, lines_of
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.model.settings import Settings
from listkit.problem import FieldError, Level, Problem
from listkit.read.odd_rows import with_point
from listkit.units.money import Money
from listkit.units.spoken import money_text

PAGE: Final = 200
"""Rows of a page."""
TARGET: Final = Target(Role.ITEMS)
COLUMNS: Final = ("name", "form", "retail", "cost", "weight", "on_hand", "sets", "status")
LONG: Final = frozenset({"ingredients", "cautions", "story"})
"""Fields of more than a few words: they have a large field, and are not looked into for words."""
_COMMA: Final = re.compile(r'"(\d+),(\d{1,2})" has a comma\.')
ROW, LINE = "row", "line"
"""By what an address names a row: its code, or its line."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Which rows are asked for, in which order, and which page of them, from 1."""

    q: str = ""
    form: str = ""
    status: str = ""
    sort: str = ""
    down: str = ""
    page: int = 1

    @classmethod
    def read(cls, given: Mapping[str, str]) -> "Asked":
        """Return what an address asks for; whatever it cannot mean is left out."""
        number = given.get("page", "")
        sort = given.get("sort", "")
        return cls(
            q=" ".join(given.get("q", "").split())[:200],
            form=given.get("form", ""),
            status=given.get("status", ""),
            sort=sort if sort in COLUMNS else "",
            down="yes" if given.get("down") == "yes" else "",
            page=int(number) if number.isdecimal() and len(number) < 7 and int(number) else 1,
        )

    @property
    def query(self) -> str:
        """What stands behind the question mark, "" for the first page of all.

        >>> Asked(q="oat soap", page=2).query
        'q=oat+soap&page=2'
        """
        parts = {name: str(getattr(self, name)) for name in ("q", "form", "status", "sort", "down")}
        parts["page"] = str(self.page) if self.page > 1 else ""
        return urlencode({name: text for name, text in parts.items() if text})

    def to(self, **changed: Any) -> str:  # noqa: ANN401 - any of the fields
        """Return the address of the same rows with something else; the first page unless one is named."""
        query = replace(self, **{"page": 1, **changed}).query
        return f"/shelf?{query}" if query else "/shelf"

    def sorted_by(self, column: str) -> str:
        """Return the address that sorts by a column, the other way round where it does so already."""
        return self.to(sort=column, down="yes" if self.sort == column and not self.down else "")


@dataclass(frozen=True, slots=True)
class Thing:
    """A row of the sheet: its cells, the item where it is sound, the sets that hold it, how many problems it has."""

    line: int
    code: str
    cells: Mapping[str, str]
    address: str
    key: tuple[str, str]
    item: Item | None = None
    sets: tuple[SetFacts, ...] = ()
    to_mend: int = 0
    to_look: int = 0

    @property
    def name(self) -> str:
        """What to call it."""
        return self.cells.get("name") or self.code or say("shelf.unnamed", line=self.line)


@dataclass(frozen=True, slots=True)
class Shown:
    """A page of the table: its things, how many were asked for, how many pages there are, and sums over what was asked.

    `pieces` and `worth` are of what is counted: how many, and what these cost to make.
    """

    things: tuple[Thing, ...]
    asked: Asked
    count: int
    pages: int
    forms: tuple[str, ...]
    statuses: tuple[str, ...]
    pieces: int
    worth: Decimal


def show(desk: Desk, request: Request) -> Response:
    """Return a page of the table."""
    seen, files = desk.shop_state.look(), look(desk.shop_state.folder)
    file = changes.see(files.root, TARGET, files)
    asked = Asked.read(request.query_params)
    try:
        lines = sheet_lines(files, file)
    except FieldError as fault:
        return page(desk, request, "shelf", fault=fault, shown=None, file=file, allots=False)
    shown = table(seen, lines, asked, sheet_problems(desk, seen))
    settings = seen.opened.shop.settings
    return page(
        desk,
        request,
        "shelf",
        fault=None,
        shown=shown,
        figure_of=lambda thing, field: figure_of(thing, field, settings),
        marks=marks_of(seen.opened.shop.items, seen.opened.shop.naming),
        file=file,
        target=TARGET,
        read_only=is_read_only(file.path),
        codeless=len(without_code(lines, file.path)),
        commas=0 if is_read_only(file.path) else len(tuple(with_commas(seen.opened.problems, lines, file.path))),
        allots=settings.allotment is not None,
        worth=money_text(shown.worth, settings.currency, settings.language),
    )


def table(seen: Seen, lines: Lines, asked: Asked, problems: Sequence[Problem]) -> Shown:
    """Return the page of a sheet that is asked for; only its rows are made things of, whatever the sheet holds."""
    items = {item.code: item for item in seen.opened.shop.items}
    uses = uses_of(seen.catalog)
    looked_into = tuple(name for name in lines.headings if name not in LONG)
    rows = [line for line in lines.rows if _is_asked(line, asked, looked_into)]
    if asked.sort:
        have = [line for line in rows if _rank(line, asked.sort, items, uses) is not None]
        have.sort(key=lambda line: _rank(line, asked.sort, items, uses), reverse=bool(asked.down))
        rows = [*have, *(line for line in rows if _rank(line, asked.sort, items, uses) is None)]
    pages = max(1, -(-len(rows) // PAGE))
    asked = replace(asked, page=min(asked.page, pages))
    codes = Counter(line.cells.get("code", "") for line in lines.rows)
    on_page = rows[(asked.page - 1) * PAGE : asked.page * PAGE]
    counts = Counter((problem.place.line, problem.level) for problem in problems)
    counted = [item for line in rows if (item := items.get(line.cells.get("code", ""))) is not None and item.on_hand]
    return Shown(
        things=tuple(thing_of(line, codes, items, uses, counts) for line in on_page),
        asked=asked,
        count=len(rows),
        pages=pages,
        forms=tuple(sorted({form for line in lines.rows if (form := line.cells.get("form", ""))}, key=str.casefold)),
        statuses=tuple(dict.fromkeys((*Status, *(line.cells.get("status", "") or "on sale" for line in lines.rows)))),
        pieces=sum(item.on_hand or 0 for item in counted),
        worth=sum((item.cost.amount * (item.on_hand or 0) for item in counted), Decimal(0)),
    )


def uses_of(catalog: Catalog) -> dict[str, tuple[SetFacts, ...]]:
    """Return by each item's code the sets that hold it, or may."""
    uses: dict[str, list[SetFacts]] = {}
    for facts in catalog.sets:
        for code in dict.fromkeys(item.code for item in facts.items):
            uses.setdefault(code, []).append(facts)
    return {code: tuple(sets) for code, sets in uses.items()}


def _is_asked(line: Line, asked: Asked, looked_into: Sequence[str]) -> bool:
    cells = line.cells
    if asked.form and cells.get("form", "") != asked.form:
        return False
    if asked.status and (cells.get("status", "") or Status.ON_SALE) != asked.status:
        return False
    if not asked.q:
        return True
    text = " ".join(map(cells.__getitem__, looked_into)).casefold()
    return all(word in text for word in asked.q.casefold().split())


def _rank(line: Line, by: str, items: Mapping[str, Item], uses: Mapping[str, tuple[SetFacts, ...]]) -> Any:  # noqa: ANN401
    """Return what a row is sorted by, None where it has nothing of it."""
    code = line.cells.get("code", "")
    if by == "sets":
        return len(uses.get(code, ()))
    if by not in ("retail", "cost", "weight", "on_hand"):
        return line.cells.get(by, "").casefold() or None
    value = getattr(items.get(code), by, None)
    return getattr(value, "amount", getattr(value, "grams", value))


def thing_of(
    line: Line,
    codes: Mapping[str, int],
    items: Mapping[str, Item],
    uses: Mapping[str, tuple[SetFacts, ...]],
    counts: Mapping[tuple[int, Level], int],
) -> Thing:
    """Return a row as a thing of the page.

    Args:
        line: the row.
        codes: how many rows have each code; one that several have names none of them.
        items: the items by their codes.
        uses: the sets that hold each.
        counts: how many problems there are of each line and level.
    """
    code = line.cells.get("code", "")
    key = (ROW, code) if code and codes[code] == 1 else (LINE, str(line.line))
    return Thing(
        line=line.line,
        code=code,
        cells=line.cells,
        address=f"/shelf/item?{urlencode([key])}",
        key=key,
        item=items.get(code),
        sets=uses.get(code, ()),
        to_mend=counts.get((line.line, Level.MUST_FIX), 0),
        to_look=counts.get((line.line, Level.LOOK_AT), 0),
    )


def figure_of(row: Thing, field: str, settings: Settings) -> str:
    """Return a cell as the table shows it: sums in one form, whatever was typed; weights and counts of sound rows."""
    written, item = row.cells.get(field, ""), row.item
    if field in ("retail", "cost") and written:
        return _sum_shown(written, settings)
    if item is not None and field == "weight":
        return settings.measures.weight(item.weight)
    if item is not None and field == "on_hand" and item.on_hand is not None:
        return str(item.on_hand)
    return written


def _sum_shown(written: str, settings: Settings) -> str:
    """Return a sum as people read it; one that cannot be read as it is written."""
    text = with_point(written) if "." not in written else written
    try:
        return money_text(Money.parse(text, settings.currency).amount, settings.currency, settings.language)
    except FieldError:
        return written


def sheet_lines(files: Files, file: changes.Seen) -> Lines:
    """Return the rows of the sheet as it was seen among the files of the shop.

    Raises:
        FieldError: there is none, or it cannot be read.
    """
    if not file.content:
        raise FieldError(f"{file.path} is not there.", "Put your sheet into the shop's folder, or add the first item.")
    return lines_of(file.path, file.content, files.form(Role.ITEMS))


def sheet_problems(desk: Desk, seen: Seen) -> tuple[Problem, ...]:
    """Return what is wrong in the sheet, as far as it is known."""
    file, problems = seen.opened.shop.items_file, known_problems(seen, desk.shop_state.full())
    return tuple(problem for problem in problems if problem.place.file == file)


def with_commas(problems: Iterable[Problem], lines: Lines, file: str) -> Iterator[PutCell]:
    """Yield cells whose number has a comma that can only be a decimal sign, as they are written with a point."""
    rows = {row.line: row for row in lines.rows}
    codes = Counter(row.cells.get("code", "") for row in lines.rows)
    for each in problems:
        number, row = _COMMA.match(each.message), rows.get(each.place.line)
        if each.place.file != file or number is None or row is None or not each.place.key:
            continue
        code = row.cells.get("code", "")
        named = code if code and codes[code] == 1 else row.line
        yield PutCell(named, str(each.place.key[-1]), f"{number[1]}.{number[2]}", by_itself=True)


def without_code(lines: Lines, file: str) -> tuple[Line, ...]:
    """Return the rows that have no code and could be given one; none of a sheet that is only read here."""
    return () if is_read_only(file) else tuple(row for row in lines.rows if not row.cells.get("code"))


def is_read_only(path: str) -> bool:
    """Whether a sheet of this name is only read here."""
    return path.lower().endswith(".ods")
