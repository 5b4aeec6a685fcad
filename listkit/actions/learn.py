"""A channel's file, drafted from a storefront's sample, or without one for a kind of place; doubts are marked.

First the sample is opened: which sheet of a workbook, how a text is written, which row is the header. Then each column
is filled in, as the owner chose where she was asked, or left with a doubt for her. The command writes the file, the
desk as a change that can be taken back.
"""

import codecs
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Final

from slugify import slugify

from listkit.edit.files import ChannelWords, channel_toml, filled_in, put_channel, quoted
from listkit.fields import FIELDS
from listkit.learn.dialect import MOST_COLUMNS, SAMPLE_ROWS, TextForm, ValueForm, read_text, rows_looked_at, values_of
from listkit.learn.draft import draft, headings_twice
from listkit.learn.header import header_row, rows_of_goods
from listkit.learn.matching import Match, match_feed
from listkit.learn.values import columns_of
from listkit.listing.columns import fact
from listkit.paths import is_device
from listkit.problem import FieldError, Problem
from listkit.read.folder import SHOP
from listkit.read.sheet import Row as WorkbookRow
from listkit.read.sheet import is_workbook, no_table, workbook_sheets
from listkit.read.source import TEXT_LIMIT, read_bytes, real_path
from listkit.shipped import shipped_templates

_TAKEN: Final = ("wholesale", "print")  # folders of output that belong to no channel
_SHEETS: Final = 30
_SMALLER: Final = "Keep its header and the first rows, and learn from that."
_TEXTS: Final = ((b"{", "JSON"), (b"[", "JSON"), (b"<", "XML or a page of the web"))
Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sample:
    """A sample: how it is written (None for a workbook), its headings, the rows below."""

    file: str
    form: TextForm | None
    headings: Row
    rows: tuple[Row, ...]


def read_sample(path: Path) -> Sample:
    """Return the sample at `path`.

    Raises:
        FieldError: there is no such file, it is no table, nothing stands in it, or no row names its columns.
    """
    whole = real_path(path)
    try:
        return _sample(path.name, _content(whole))
    except FieldError as fault:
        raise FieldError(f"{path.name}: {fault.message}", fault.hint) from None


def understand_sample(file: str, content: bytes) -> "SampleRead":
    """Return a sample of this name and these bytes, understood; raises as `read_sample` does."""
    try:
        if len(content) > TEXT_LIMIT:
            raise _too_large(len(content))
        _refuse_other_kinds(content)
        return _understood(_sample(file, content))
    except FieldError as fault:
        raise FieldError(f"{file}: {fault.message}", fault.hint) from None


def _content(whole: Path) -> bytes:
    size = whole.stat().st_size if whole.is_file() else 0
    if size > TEXT_LIMIT:
        raise _too_large(size)
    content = read_bytes(whole.parent, whole.name)
    if isinstance(content, Problem):
        raise FieldError(content.message, content.hint)
    _refuse_other_kinds(content)
    return content


def _too_large(size: int) -> FieldError:
    message = f"it has {size // 1_000_000} MB, and more than {TEXT_LIMIT // 1_000_000} are not read."
    return FieldError(message, _SMALLER)


def _refuse_other_kinds(content: bytes) -> None:
    begin = content.removeprefix(codecs.BOM_UTF8).lstrip()
    if what := no_table(content) or next((what for begins, what in _TEXTS if begin.startswith(begins)), ""):
        raise FieldError(f"it is {what} and no table.", "Ask the storefront for a sample as CSV or .xlsx.")


def _sample(file: str, content: bytes) -> Sample:
    if is_workbook(content):
        sheets = [rows for _, rows in workbook_sheets(content, _SHEETS)]
        if fault := next((rows for rows in sheets if isinstance(rows, FieldError)), None):
            raise fault
        tables = [_table(rows) for rows in sheets if not isinstance(rows, FieldError)]
        return max(_readable(file, tables), key=lambda sample: len(sample.headings))
    form, rows = read_text(content)
    return _of_rows(file, form, rows)


def _readable(file: str, tables: list[tuple[Row, ...]]) -> list[Sample]:
    """Return the sheets in which a row names the columns.

    Raises:
        FieldError: there is none; it says what is wrong with the first that holds anything.
    """
    found, faults = list[Sample](), list[FieldError]()
    for rows in filter(None, tables):
        try:
            found.append(_of_rows(file, None, rows))
        except FieldError as fault:
            faults.append(fault)
    if not found:
        hint = "Ask the storefront for a sample with a row of headings."
        raise next(iter(faults), FieldError("nothing stands in it.", hint))
    return found


def _table(sheet: Iterable[WorkbookRow]) -> tuple[Row, ...]:
    rows = (tuple(cell.text for cell in row.cells[: MOST_COLUMNS + 1]) for row in sheet if not row.blank)
    return tuple(row for row, _ in zip(rows, range(SAMPLE_ROWS), strict=False))


def _of_rows(file: str, form: TextForm | None, rows: tuple[Row, ...]) -> Sample:
    at = header_row(rows)
    headings = rows[at]
    while headings and not headings[-1]:  # a spreadsheet adds empty columns behind
        headings = headings[:-1]
    if len(headings) > MOST_COLUMNS:
        message = f"it has more than {MOST_COLUMNS} columns."
        raise FieldError(message, "Is it the right file? Ask the storefront for a sample with its headings alone.")
    goods = rows_of_goods(rows[: at + 1 + rows_looked_at(len(headings))], at)
    return Sample(file, form, headings, tuple(tuple(row[: len(headings)]) for row in goods))


# What each column is, to be looked at and chosen


@dataclass(frozen=True, slots=True)
class SampleRead:
    """A sample, and what each of its columns was taken for."""

    sample: Sample
    matches: tuple[Match, ...]


@dataclass(frozen=True, slots=True)
class ColumnChoice:
    """A column to be looked at beside its sheet: its heading, some cells, what it was taken for, "" for nothing.

    `doubt` is "" where that is sure; else it may be what is `likely`, the first of these by so many per cent, and `why`
    is the reason alone. `choosable`: it has a heading of its own.
    """

    heading: str
    cells: tuple[str, ...]
    says: str
    doubt: str
    likely: tuple[str, ...]
    share: int = 100
    choosable: bool = True
    why: str = ""


def _understood(sample: Sample) -> SampleRead:
    return SampleRead(sample, match_feed(sample.headings, sample.rows))


def place_choices(read: SampleRead) -> tuple[ColumnChoice, ...]:
    """Return every column of a sample; one that nothing is known of is left empty unless she chooses."""
    return tuple(
        ColumnChoice(
            heading=match.heading.text,
            cells=tuple(dict.fromkeys(cell for cell in cells if cell))[:3],
            says=str(match.field) if match.sure else "",
            doubt="" if match.sure or not (match.field or match.second) else match.reason or "it is not sure",
            likely=tuple(name for name in (match.field, match.second) if name),
            share=round(match.confidence * 100),
            why=match.reason,
        )
        for match, cells in zip(read.matches, columns_of(read.sample.rows, len(read.matches)), strict=True)
    )


def field_meanings() -> tuple[tuple[str, str], ...]:
    """Return every field that a column may hold, with what it is; of a family also its first members."""
    meanings = []
    for name, about in FIELDS.items():
        meanings.append((name, about.meaning))
        members = _MOST_MEMBERS.get(name, 0)
        meanings += [(f"{name}_{at}", f"{about.meaning.rstrip('.')}: number {at}.") for at in range(1, members + 1)]
    return tuple(meanings)


_MOST_MEMBERS: Final = {"image": 10, "slot": 5, "choice": 5, "keywords": 5}
"""Members of families that are offered by themselves; any other can be written."""
Chosen = Mapping[int, str]
"""By the index of a column the field that the owner chose for it, "" where it is to stay empty."""
_NOTHING_CHOSEN: Final[Chosen] = MappingProxyType({})


def _settled(matches: tuple[Match, ...], chosen: Chosen) -> tuple[Match, ...]:
    """Return the matches with what was chosen as what is sure.

    Raises:
        FieldError: there is no such field.
    """
    settled = list(matches)
    for at, says in chosen.items():
        if says:
            fact(says)
        settled[at] = replace(matches[at], field=says or None, confidence=1.0, second=None, reason="")
    return tuple(settled)


# The channel


@dataclass(frozen=True, slots=True)
class PlaceFile:
    """A channel's file to be written: its key, its bytes, how the sample is written, what its columns are.

    `dialect` has the keys of [dialect]; `twice` are headings that several columns have. Without a sample all are empty.
    """

    key: str
    content: bytes
    dialect: Mapping[str, str | bool] = field(default_factory=dict)
    matches: tuple[Match, ...] = ()
    twice: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Learnt:
    """A channel file that was written: how its sample is written, in the keys of [dialect], and its columns.

    `twice` are headings that several columns have.
    """

    path: Path
    dialect: Mapping[str, str | bool]
    matches: tuple[Match, ...]
    twice: tuple[str, ...]


def learn_channel(shop: Path, name: str, sample: Path) -> Learnt:
    """Write channels/<name>.toml from a storefront's sample.

    Raises:
        FieldError: the folder is no shop, the name cannot be a channel's or is taken, or the sample is no table.
    """
    _channel_key(shop, name)
    file = place_from_sample(shop, name, _understood(read_sample(sample)))
    return Learnt(put_channel(shop, file.key, file.content), file.dialect, file.matches, file.twice)


def place_from_sample(shop: Path, name: str, read: SampleRead, chosen: Chosen = _NOTHING_CHOSEN) -> PlaceFile:
    """Return the file of a channel of this name; what she has `chosen` goes before what a column was taken for.

    Raises:
        FieldError: the folder is no shop, the name cannot be a channel's, or there is no such field.
    """
    key, sample = _channel_key(shop, name), read.sample
    matches = _settled(read.matches, chosen)
    values = _values(sample, matches)
    dialect = _dialect(sample, values)
    drafted = draft(matches, sample.rows, empty={at for at, says in chosen.items() if not says})
    words = ChannelWords(
        sample=sample.file,
        name=name,
        feed="csv" if sample.form else "xlsx",
        rows=drafted.rows,
        text=drafted.text,
        pictures=drafted.pictures,
        dialect=tuple((key, _toml(value)) for key, value in dialect.items() if key != "feed"),
        day_doubtful=not values.day_sure,
        columns=drafted.columns,
    )
    template = (shipped_templates() / "learnt" / "channel.toml").read_text(encoding="utf-8")
    content = channel_toml(template, words)
    return PlaceFile(key, content, dialect, matches, headings_twice(drafted.columns))


PLACE_KINDS: Final = ("own-shop", "marketplace", "stall", "bookkeeper")


def new_place(shop: Path, name: str, kind: str) -> Path:
    """Write channels/<name>.toml for a place of this kind, without a sample: plain columns and nobody's limits.

    Raises:
        FieldError: the folder is no shop, or the name cannot be a channel's or is taken.
    """
    file = place_of_kind(shop, name, kind)
    return put_channel(shop, file.key, file.content)


def place_of_kind(shop: Path, name: str, kind: str) -> PlaceFile:
    """Return the file of a place of one of PLACE_KINDS; raises as `new_place` does."""
    key = _channel_key(shop, name)
    folder = shipped_templates() / "new_place"
    columns = (folder / "columns.toml").read_text(encoding="utf-8")
    template = (folder / f"{kind}.toml").read_text(encoding="utf-8")
    return PlaceFile(key, filled_in(template, {"name": name, "columns": columns}))


def _channel_key(shop: Path, name: str) -> str:
    """Return the key of a channel of that name, once it is sure that the shop is one."""
    if not os.path.isfile(shop / SHOP):
        raise FieldError(f"there is no {SHOP} in {shop}.", "Say where the shop is: --shop DIR.")
    key = slugify(name, separator="_")[:60].strip("_")
    if not key or key in _TAKEN or is_device(key):
        raise FieldError(f'"{name}" cannot be the name of a channel.', 'Write a word or two, as in "Web shop".')
    return key


def _values(sample: Sample, matches: tuple[Match, ...]) -> ValueForm:
    columns = columns_of(sample.rows, len(matches))
    answers = [column for column, match in zip(columns, matches, strict=True) if match.field == "inStock"]
    return values_of(columns, answers)


def _toml(value: str | bool) -> str:
    return quoted(value) if isinstance(value, str) else str(value).lower()


def _dialect(sample: Sample, values: ValueForm) -> dict[str, str | bool]:
    """Return what was found out of how the sample is written, in the keys of [dialect]."""
    form = sample.form
    written: dict[str, str | bool] = {"feed": "xlsx"}
    if form:
        written = {"feed": "csv", "separator": form.separator, "quote": form.quote, "encoding": form.encoding}
        written |= {"byte_order_mark": form.byte_order_mark, "line_end": form.line_end, "decimal": values.decimal}
    answers = {"yes": values.yes, "no": values.no} if (values.yes, values.no) != ("yes", "no") else {}
    return {**written, "date": values.date, "header": True, **answers}
