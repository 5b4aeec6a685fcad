"""A shop made around the sheet that an owner keeps already.

First the sheet is opened: which sheet of a workbook, which row is the header, what its columns are. Then each column
is filled in, left for her to decide, or left alone.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from listkit.actions.learn import ColumnChoice
from listkit.edit.starter import ColumnLine, OwnSheet, ShopWords, make_own_shop
from listkit.learn.dialect import SAMPLE_ROWS, rows_looked_at
from listkit.learn.folding import parted
from listkit.learn.header import (
    WITHIN,
    CurrencyGuess,
    HeaderRow,
    MeasureGuess,
    columns_of_sides,
    find_header,
    guess_currency,
    guess_measure,
    heading_score,
)
from listkit.learn.matching import Match, match_items
from listkit.ledger.store import LEDGER
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.paths import SOURCES, folded_path
from listkit.problem import FieldError, Problem
from listkit.read import folder
from listkit.read.faults import faults_of
from listkit.read.folder import stays_inside
from listkit.read.headings import fold, read_headings
from listkit.read.sheet import Row, Sheet, column_letters, no_table, read_tables
from listkit.read.shop import read_shop
from listkit.read.source import read_bytes
from listkit.read.wording import listed
from listkit.read.workbook_parts import FAILED
from listkit.shipped import shipped_templates
from listkit.units.money import NO_CURRENCY
from listkit.units.table import UnitKind, channel_places, units_of

_SHEETS: Final = 30
_TAKEN: Final = (
    *(folder.STOCKISTS, folder.RATES, folder.INGREDIENTS, folder.MATERIALS, folder.RECIPES, folder.PLAN),
    *(folder.MOVEMENTS, folder.ALLOTMENT, folder.SHOP, folder.PACKAGING, folder.WHOLESALE, LEDGER, *SOURCES),
)
_FILL: Final = "Write a row of headings, and a row for each thing you sell."


@dataclass(frozen=True, slots=True)
class SheetRead:
    """The owner's sheet, understood: `sheet` names one of a workbook's, "" where there is one alone.

    `problems` are rows that could not be read at all; what is wrong in cells is told by `check`.
    """

    file: str
    content: bytes
    sheet: str
    table: Sheet
    header: HeaderRow
    matches: tuple[Match, ...]
    samples: tuple[tuple[str, ...], ...]
    currency: CurrencyGuess
    measure: MeasureGuess
    problems: tuple[Problem, ...]

    @property
    def header_line(self) -> int:
        """The header's line, or row of the workbook, from 1."""
        return self.table.rows[self.header.index].line

    @property
    def first_line(self) -> int:
        """The line of the first row that holds something below the header; the one after it when there is none."""
        below = (row.line for row in self.table.rows[self.header.first :] if not row.blank)
        return next(below, self.header_line + 1)


def read_own_sheet(path: Path) -> SheetRead:
    """Return the sheet at `path`, understood.

    Raises:
        FieldError: there is no such file, it is no sheet, nothing stands in it, or no row names its columns.
    """
    return understand_sheet(path.name, _content(path))


def understand_sheet(file: str, content: bytes) -> SheetRead:
    """Return a sheet of this name and these bytes, understood.

    Raises:
        FieldError: it can have no such name, it is no sheet, nothing stands in it, or no row names its columns.
    """
    _refuse_name(file)
    if what := no_table(content):
        raise FieldError(f"{file} is {what} and no sheet.", "Name a CSV, .xlsx or .ods file.")
    table, sheet, problems = _table(file, content)
    rows = _texts(table.rows)
    header = find_header(rows)
    if header is None:
        raise FieldError(f"{file}: no row names the columns.", _header_hint(rows))
    filled = (row for row in rows[header.first :] if any(row))
    samples = tuple(islice(filled, rows_looked_at(len(header.headings))))
    matches = match_items(header.with_units, samples)
    currency = guess_currency(matches, samples)
    return SheetRead(
        file=file,
        content=content,
        sheet=sheet,
        table=table,
        header=header,
        matches=matches,
        samples=samples,
        currency=currency,
        measure=guess_measure(matches, samples),
        problems=problems,
    )


def _content(path: Path) -> bytes:
    """Return the bytes of the file, once it is sure that it can be a table in a shop folder."""
    _refuse_name(path.name)
    try:
        whole = path.resolve(strict=True)
    except (OSError, RuntimeError):
        raise FieldError(f"there is no file {path}.", "Look at the name, and where it lies.") from None
    content = read_bytes(whole.parent, whole.name)
    if isinstance(content, Problem):
        raise FieldError(f"{path.name}: {content.message}", content.hint)
    return content


def _refuse_name(name: str) -> None:
    """Refuse a file name that no items table in a shop folder can have."""
    if not stays_inside(name) or "/" in name or name.startswith((".", "~")) or folded_path(name) in _TAKEN:
        raise FieldError(f"{name} cannot be the name of an items table.", "Rename the sheet, as in stock.csv.")


def _table(file: str, content: bytes) -> tuple[Sheet, str, tuple[Problem, ...]]:
    """Return the rows, of a workbook those of the sheet that is most like a table of items, and its name."""
    tables = read_tables(file, content, _score, most=_SHEETS)
    best: tuple[tuple[int, ...], Sheet, str, tuple[Problem, ...]] | None = None
    fault: Problem | None = None
    for name, table, problems in tables:
        if table is None:
            fault = fault or problems[0]
        elif best is None or _score(table.rows) > best[0]:
            best = _score(table.rows), table, name, tuple(problems)
    if best is None:
        words = (fault.message, fault.hint) if fault else ("nothing stands in it.", _FILL)
        raise FieldError(f"{file}: {words[0]}", words[1])
    _, table, name, told = best
    if not any(sign.isalnum() for row in table.rows for cell in row.cells for sign in cell.text):
        raise FieldError(f"{file}: nothing stands in it.", _FILL)
    return table, name if len(tables) > 1 else "", told


def _score(rows: Iterable[Row]) -> tuple[int, ...]:
    """Return how much of a table of items some rows are: columns named, then cells side by side."""
    texts = [row for row in _texts(rows) if any(row)][:60]
    named = max(map(heading_score, texts[:WITHIN]), default=(0, 0))
    widths = sorted(sum(map(bool, row)) for row in texts)
    return (*named, widths[len(widths) // 2] if widths else 0)


def _texts(rows: Iterable[Row]) -> tuple[tuple[str, ...], ...]:
    """Return what cells say; an error says nothing of what its column is."""
    return tuple(tuple("" if cell.turned == FAILED else cell.text for cell in row.cells) for row in rows)


def _header_hint(rows: tuple[tuple[str, ...], ...]) -> str:
    """Return which headings to write above, as far as the cells tell what they are."""
    filled = [row for row in rows if any(row)][:SAMPLE_ROWS]
    width = max(map(len, filled), default=0)
    guessed = [match.second or match.field for match in match_items([""] * width, filled[: rows_looked_at(width)])]
    told = [f"{column_letters(at)} {field}" for at, field in enumerate(guessed) if field]
    seen = f" By their cells: {', '.join(told)}." if told else ""
    needed = "code, name, retail, cost, weight (g), size (mm)"
    return f"Write a row of headings above the first row; needed are {needed}.{seen}"


# What is written of each column of the owner's sheet: filled in, left for her to decide, or left alone.
# A column that items do not need is left alone so that no row fails because of it; a needed one is never hidden.

_FIELDS: Final = tuple(Item.model_fields)
NEEDED: Final = tuple(name.replace("_", " ") for name, field in Item.model_fields.items() if field.is_required())
_BASES: Final = tuple(unit for unit in units_of(UnitKind.MASS, UnitKind.VOLUME) if unit.size == 1)
_UNITS: Final = {
    "weight": tuple(channel_places(UnitKind.MASS)),
    "net": (*(unit.sign for unit in _BASES), *(unit.legal.sign for unit in _BASES if unit.legal)),
    "size": tuple(channel_places(UnitKind.LENGTH)),
    **dict.fromkeys(("shelf life", "after opening"), tuple(unit.sign for unit in units_of(UnitKind.TIME))),
}
_SOUND: Final = {"code": "A", "name": "A", "retail": "1", "cost": "1", "weight": "1 g", "size": "1 x 1 x 1 mm"}
_AS_IN: Final = {"code": "B-1", "retail": "6.50", "cost": "1.70", "size": "80 x 55 x 25 mm"}
_MOST: Final = 0.5
_ASK_CURRENCY: Final = '? three letters, as in "GBP": all money in the folder is in it'
_LANGUAGES: Final = {"GB": "en-GB", "US": "en-US"}
_MOST_SIGNS: Final = 3
_ASK_COUNTRY: Final = '? two letters, as in "GB"'


@dataclass(frozen=True, slots=True)
class Doubt:
    """A column for the owner to decide: its heading, and what it may be with the reason, in words."""

    heading: str
    words: str


@dataclass(frozen=True, slots=True)
class Lacking:
    """A field that items need and no column fills: how a cell may look, or the formula that makes it of others."""

    field: str
    example: str
    formula: str

    def words(self, file: str) -> str:
        """Return what to add to the sheet of this name."""
        ending = f" with {self.formula}, copied down." if self.formula else "."
        as_in = f', as in "{self.example}"' if self.example and not self.formula else ""
        about = Item.model_fields[self.field].description or ""
        return f'{self.field}. {about} Add a column "{self.field.capitalize()}" to {file}{as_in}{ending}'


@dataclass(frozen=True, slots=True)
class SheetColumns:
    """What is written of the columns: `lines` for shop.toml, the same parted by how sure it is, and what is lacking."""

    lines: tuple[ColumnLine, ...]
    understood: tuple[ColumnLine, ...]
    doubtful: tuple[Doubt, ...]
    unused: tuple[str, ...]
    lacking: tuple[Lacking, ...]


def column_choices(read: SheetRead) -> tuple[ColumnChoice, ...]:
    """Return every column that has a heading or cells, in the order of the sheet."""
    columns, twice = decide_columns(read), _twice(read)
    says = {line.heading: line.says for line in columns.understood}
    choices = []
    for at, match in enumerate(read.matches):
        heading, cells = read.header.headings[at], _cells(read, at)
        doubt = next((each.words for each in columns.doubtful if heading and each.heading == heading), "")
        units = _UNITS.get(str(match.field), ()) if doubt and match.field and not match.unit else ()
        likely = [*(f"{match.field} ({unit})" for unit in units)] or [_says(match)] if match.field else []
        likely += [match.second] if match.second else []
        choice = ColumnChoice(
            heading=heading,
            cells=tuple(dict.fromkeys(cells))[:3],
            says=says.get(heading, ""),
            doubt=doubt,
            likely=tuple(likely),
            share=round(match.confidence * 100),
            choosable=bool(heading) and fold(heading) not in twice,
            why=match.reason if doubt == _choices(match) else doubt,
        )
        choices += [choice] if heading or cells else []
    return tuple(choices)


def column_meanings() -> tuple[tuple[str, str], ...]:
    """Return all that a column can be, as [items.columns] writes it, with what it means."""
    return tuple(
        (f"{name} ({unit})" if unit else name, field.description or "")
        for name, field in ((key.replace("_", " ").strip(), field) for key, field in Item.model_fields.items())
        for unit in _UNITS.get(name, ("",))
    )


def decide_columns(read: SheetRead, chosen: Mapping[str, str] | None = None) -> SheetColumns:
    """Return what is written of every column; what she has `chosen` for a heading, "" for nothing, goes first.

    Raises:
        FieldError: two columns are chosen to be the same.
    """
    chosen, twice = chosen or {}, _twice(read)
    _refuse_choices(read, chosen)
    understood, doubtful, unused = [], [], []
    aside = tuple(ColumnLine(heading, "", "left alone") for heading, says in chosen.items() if not says)
    for at, match in enumerate(read.matches):
        heading = read.header.headings[at]
        if heading in chosen and fold(heading) not in twice:
            understood += [ColumnLine(heading, says)] if (says := chosen[heading]) else []
            unused += [] if says else [heading]
        elif fold(heading) in twice:
            doubtful.append(Doubt(heading, "two columns have this heading: give each its own"))
        elif not match.field or not heading:
            unused += [heading] if heading else []
            told = f"column {column_letters(at)} has no heading; by its cells it may be the {match.field}"
            doubtful += [Doubt("", told)] if match.field else []
        elif not match.sure:
            doubtful.append(Doubt(heading, _choices(match)))
        elif fault := _unreadable(match, _cells(read, at), read.currency.code):
            doubtful.append(Doubt(heading, f'"{_says(match)}" once its cells can be read: {fault}'))
        else:
            understood.append(ColumnLine(heading, _says(match)))
    doubts = tuple(dict.fromkeys(doubtful))
    lines = (*understood, *aside)
    lines += tuple(ColumnLine(one.heading, "", f"? {one.words}") for one in doubts if one.heading)
    lines += _taken_otherwise(read, lines)
    return SheetColumns(lines, tuple(understood), doubts, tuple(unused), tuple(_lacking(read, understood)))


def _refuse_choices(read: SheetRead, chosen: Mapping[str, str]) -> None:
    there = dict(column_meanings())
    taken: dict[str, str] = {}
    for heading, says in chosen.items():
        named = says.partition(" (")[0]
        units = _UNITS.get(named, ())
        if says and says not in there and says not in _UNITS and (units or named not in there):
            raise FieldError(f'we have no column "{says}".', f'Choose for "{heading}" what the list has.')
        if choices := units_to_choose(read, heading, says):
            ways = listed([f'"{way}"' for way in choices], "or")
            raise FieldError(f'the numbers of "{heading}" have no unit.', f"Choose {ways} for it.")
        if named and named in taken:
            both = f'"{taken[named]}" and "{heading}" cannot both be the {named}.'
            raise FieldError(both, "Leave one of them alone.")
        taken[named] = heading


def units_to_choose(read: SheetRead, heading: str, says: str) -> tuple[str, ...]:
    """Return what a column may be chosen to be instead of a measure without a unit; () where its cells have theirs."""
    cells = [cell for at, each in enumerate(read.header.headings) if each == heading for cell in _cells(read, at)]
    carried = 2 * sum(_has_unit(cell) for cell in cells) >= len(cells)  # in most, as in "80x55x25mm"
    return () if carried else tuple(f"{says} ({unit})" for unit in _UNITS.get(says, ()))


def _twice(read: SheetRead) -> frozenset[str]:
    """Return the headings, folded, that several columns have, where one of them could be of use."""
    counted = Counter(fold(heading) for heading in read.header.headings if heading)
    useful = {fold(read.header.headings[at]) for at, match in enumerate(read.matches) if match.field or match.second}
    return frozenset(heading for heading, count in counted.items() if count > 1 and heading in useful)


def _says(match: Match) -> str:
    return f"{match.field} ({match.unit})" if match.unit and match.field in _UNITS else str(match.field)


def _choices(match: Match) -> str:
    """Return what a doubtful column may be, as it would be written, what else, and why that is not sure."""
    units = _UNITS.get(str(match.field), ()) if not match.unit and match.reason == "the numbers have no unit" else ()
    first = " or ".join(f'"{match.field} ({unit})"' for unit in units) or f'"{_says(match)}"'
    second = f'"{match.second}"' if match.second else '"" to leave it alone'
    return f"{first}, or {second}: {match.reason}"


def _cells(read: SheetRead, at: int) -> tuple[str, ...]:
    return tuple(row[at] for row in read.samples if at < len(row) and row[at])


def _unreadable(match: Match, cells: tuple[str, ...], currency: str) -> str:
    """Return the first fault of a column that items can do without, when half of its cells or more have one."""
    field = str(match.field)
    if field in NEEDED:
        return ""
    stated = (cell if _has_unit(cell) else f"{cell} {match.unit}".rstrip() for cell in cells)
    faults = [fault for cell in stated if (fault := _fault(field, cell, currency))]
    return faults[0] if faults and len(faults) >= _MOST * len(cells) else ""


def _has_unit(cell: str) -> bool:
    return any(sign.isalpha() for sign in cell.replace("x", ""))


def _fault(field: str, cell: str, currency: str) -> str:
    try:
        Item.model_validate({**_SOUND, field.replace(" ", "_"): cell}, context={"currency": currency or NO_CURRENCY})
    except ValidationError as error:
        fault = faults_of(Item, error)[0]
        return f"{fault.message} {fault.hint}"
    return ""


def _taken_otherwise(read: SheetRead, lines: tuple[ColumnLine, ...]) -> tuple[ColumnLine, ...]:
    """Return lines that leave columns alone which would be taken for one of ours by their heading alone."""
    row: Row = read.table.rows[read.header.index]
    aside: list[ColumnLine] = []
    known = {fold(line.heading) for line in lines}
    for _ in read.header.headings:
        own = {line.heading: line.says for line in (*lines, *aside)}
        columns = read_headings(row, _FIELDS, own).columns
        more = [column.heading for column in columns if fold(column.heading) not in known]
        if not more:
            break
        known.update(map(fold, more))
        aside += [ColumnLine(heading, "", "left alone") for heading in more]
    return tuple(aside)


def _lacking(read: SheetRead, understood: list[ColumnLine]) -> Iterator[Lacking]:
    """Yield each needed field that no column fills or may fill."""
    given = {line.says.split(" (")[0] for line in understood}
    asked = {match.field for match in read.matches if match.field and match.heading}
    for name in NEEDED:
        if name not in given | asked:
            yield Lacking(name, _AS_IN.get(name, ""), _joined_sides(read) if name == "size" else "")


def _joined_sides(read: SheetRead) -> str:
    """Return the formula that joins sides which stand in columns of their own, "" when there are not three."""
    sides = columns_of_sides(read.matches)
    if not sides:
        return ""
    cells = '&" x "&'.join(f"{column_letters(at)}{read.first_line}" for at in sides)
    stated = (way.unit for way in parted(read.header.with_units[sides[0]]) if way.kind == "length")
    return f'={cells}&" {next(stated, "mm")}"'


# The shop around the sheet


@dataclass(frozen=True, slots=True)
class NewShop:
    """A shop folder made around a sheet: what was understood of it, the files, and the shop as it now reads."""

    read: SheetRead
    columns: SheetColumns
    guessed: ShopWords
    files: tuple[str, ...]
    shop: Shop
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class Decided:
    """What the owner has decided, "" where it is left to the sheet; `columns`: headings with what theirs is."""

    name: str = ""
    currency: str = ""
    country: str = ""
    columns: Mapping[str, str] = field(default_factory=dict)


_NOTHING_DECIDED: Final = Decided()


def make_shop_around(read: SheetRead, folder: Path, decided: Decided = _NOTHING_DECIDED) -> NewShop:
    """Make a shop folder around the sheet that the owner keeps already; the sheet is copied.

    Raises:
        FieldError: what was decided cannot be, or the folder cannot be made.
    """
    columns = decide_columns(read, decided.columns)
    own = OwnSheet(
        read.file, read.content, read.sheet, columns.lines, tuple(each.words(read.file) for each in columns.lacking)
    )
    guessed = _with_decided(_shop_words(folder, read.currency, read.measure), decided)
    files = make_own_shop(shipped_templates(), folder, own, guessed)
    shop, problems = read_shop(folder)
    return NewShop(read, columns, guessed, files=files, shop=shop, problems=tuple(problems))


def _with_decided(guessed: ShopWords, decided: Decided) -> ShopWords:
    guessed = replace(guessed, name=decided.name or guessed.name)
    if decided.currency:
        guessed = replace(guessed, currency=decided.currency, currency_remark="all money in the folder is in it")
    if (country := decided.country) in _LANGUAGES:
        guessed = replace(guessed, language=_LANGUAGES[country])
    return replace(guessed, country=country, country_remark="where you are") if country else guessed


def _shop_words(folder: Path, currency: CurrencyGuess, measure: MeasureGuess) -> ShopWords:
    """Return the shop's name from its folder, and what its sheet leaves no doubt of, or lets one guess.

    The first two letters of a currency are its country's (ISO 4217), except in those of several countries: EUR, X..
    Of the countries that write $ the United States alone sell in ounces and inches (common knowledge, no source).
    """
    name = " ".join(re.sub(r"[_\W]+", " ", folder.absolute().name).split())
    code, signs, units = currency.code, listed(currency.signs, "and"), listed(measure.signs[:_MOST_SIGNS], "and")
    carried = f"as the prices carry {signs}"
    asked = _ASK_CURRENCY + (f"; the prices carry {signs}" if signs else "")
    if not code and measure.system == "customary" and "USD" in currency.choices:
        code, carried = "USD", f"guessed, as the prices carry {signs} and the sheet is in {units}: look at it"
    country = code[:2] if code and code != "EUR" and not code.startswith("X") else ""
    of_texts = "of your texts"
    language = _LANGUAGES.get(country, "en-GB")
    return ShopWords(
        name=(name.title() if name.islower() else name) or "My Shop",
        currency=code,
        currency_remark=carried if code else asked,
        country=country,
        country_remark="as of the currency; mend it if you are elsewhere" if country else _ASK_COUNTRY,
        language=language,
        language_remark=f"{of_texts}; guessed by the country: look at it" if country in _LANGUAGES else of_texts,
        measure=measure.system or "",
        measure_remark=f"of all that you read; guessed, as the sheet is in {units}: look at it",
    )
