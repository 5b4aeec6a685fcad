"""A channel's file, drafted from a storefront's sample, or without one for a kind of place; doubts are marked.

First the sample is opened: which sheet of a workbook, how a text is written, which row is the header.
"""

import codecs
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from slugify import slugify

from listkit.edit.files import ChannelWords, channel_toml, filled_in, put_channel, quoted
from listkit.learn.dialect import SAMPLE_ROWS, TextForm, ValueForm, read_text, values_of
from listkit.learn.draft import draft, headings_twice
from listkit.learn.header import header_row, rows_of_goods
from listkit.learn.matching import Match, match_feed
from listkit.learn.values import columns_of
from listkit.paths import is_device
from listkit.problem import FieldError, Problem
from listkit.read.folder import SHOP
from listkit.read.sheet import is_workbook, no_table, sheet_names, workbook_rows
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


def _content(whole: Path) -> bytes:
    size = whole.stat().st_size if whole.is_file() else 0
    if size > TEXT_LIMIT:
        told = f"it has {size // 1_000_000} MB, and more than {TEXT_LIMIT // 1_000_000} are not read."
        raise FieldError(told, _SMALLER)
    content = read_bytes(whole.parent, whole.name)
    if isinstance(content, Problem):
        raise FieldError(content.message, content.hint)
    begin = content.removeprefix(codecs.BOM_UTF8).lstrip()
    if what := no_table(content) or next((what for begins, what in _TEXTS if begin.startswith(begins)), ""):
        raise FieldError(f"it is {what} and no table.", "Ask the storefront for a sample as CSV or .xlsx.")
    return content


def _sample(file: str, content: bytes) -> Sample:
    if is_workbook(content):
        tables = [_table(content, name) for name in sheet_names(content)[:_SHEETS]]
        return max((_of_rows(file, None, rows) for rows in _readable(tables)), key=lambda one: len(one.headings))
    form, rows = read_text(content)
    return _of_rows(file, form, rows)


def _readable(tables: list[tuple[Row, ...]]) -> list[tuple[Row, ...]]:
    """Return the sheets in which a row names the columns; where there is none, the first that holds anything."""
    found = [rows for rows in tables if rows and _has_header(rows)]
    filled = [rows for rows in tables if rows]
    if not filled:
        raise FieldError("nothing stands in it.", "Ask the storefront for a sample with a row of headings.")
    return found or filled[:1]


def _has_header(rows: tuple[Row, ...]) -> bool:
    try:
        header_row(rows)
    except FieldError:
        return False
    return True


def _table(content: bytes, sheet: str) -> tuple[Row, ...]:
    rows = (tuple(cell.text for cell in row.cells) for row in workbook_rows(content, sheet) if not row.blank)
    return tuple(row for row, _ in zip(rows, range(SAMPLE_ROWS), strict=False))


def _of_rows(file: str, form: TextForm | None, rows: tuple[Row, ...]) -> Sample:
    at = header_row(rows)
    headings = rows[at]
    while headings and not headings[-1]:  # a spreadsheet adds empty columns behind
        headings = headings[:-1]
    return Sample(file, form, headings, tuple(tuple(row[: len(headings)]) for row in rows_of_goods(rows, at)))


# The channel


@dataclass(frozen=True, slots=True)
class Learnt:
    """A channel file that was written: how its sample is written, in the keys of [dialect], and its columns.

    `twice` are headings that several columns have.
    """

    path: Path
    dialect: dict[str, str | bool]
    matches: tuple[Match, ...]
    twice: tuple[str, ...]


def learn_channel(shop: Path, name: str, sample: Path) -> Learnt:
    """Write channels/<name>.toml from a storefront's sample.

    Raises:
        FieldError: the folder is no shop, the name cannot be a channel's or is taken, or the sample is no table.
    """
    key = _channel_key(shop, name)
    read = read_sample(sample)
    matches = match_feed(read.headings, read.rows)
    values = _values(read, matches)
    dialect, drafted = _dialect(read, values), draft(matches, read.rows)
    words = ChannelWords(
        sample=read.file,
        name=name,
        feed="csv" if read.form else "xlsx",
        rows=drafted.rows,
        text=drafted.text,
        pictures=drafted.pictures,
        dialect=tuple((key, _toml(value)) for key, value in dialect.items() if key != "feed"),
        day_doubtful=not values.day_sure,
        columns=drafted.columns,
    )
    template = (shipped_templates() / "learnt" / "channel.toml").read_text(encoding="utf-8")
    path = put_channel(shop, key, channel_toml(template, words))
    return Learnt(path, dialect, matches, headings_twice(drafted.columns))


PLACE_KINDS: Final = ("own-shop", "marketplace", "stall", "bookkeeper")


def new_place(shop: Path, name: str, kind: str) -> Path:
    """Write channels/<name>.toml for a place of this kind, without a sample: plain columns and nobody's limits.

    Raises:
        FieldError: the folder is no shop, or the name cannot be a channel's or is taken.
    """
    key = _channel_key(shop, name)
    folder = shipped_templates() / "new_place"
    columns = (folder / "columns.toml").read_text(encoding="utf-8")
    template = (folder / f"{kind}.toml").read_text(encoding="utf-8")
    return put_channel(shop, key, filled_in(template, {"name": name, "columns": columns}))


def _channel_key(shop: Path, name: str) -> str:
    """Return the key of a channel of that name, once it is sure that the shop is one."""
    if not (shop / SHOP).is_file():
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
