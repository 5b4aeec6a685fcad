"""Reads what a channel gives out of itself: a table in any dialect of CSV, a workbook, or JSON of ours.

Rows come one at a time, with their line. An export that breaks off is a fault and is not half read. JSON is as listkit
writes it: a catalog in the schema.org vocabulary, or JSON Lines under a channel's headings. A row of it is facts by
name, each as text: lists joined as a feed's cell has them, weights in grams and lengths in millimetres, unless the
node names another unit; then the unit is written behind the number.
"""

import codecs
import csv
import io
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import PurePath
from typing import Any, Final

from listkit import bounds
from listkit.bounded_csv import broken_row, long_cells, stated_separator
from listkit.problem import FieldError, Problem, times
from listkit.read.sheet import is_workbook, workbook_rows
from listkit.read.source import UTF16, decoded_table
from listkit.units.table import UNITS

BETWEEN: Final = "; "
"""What stands between the members of a list."""
SCHEMA_ORG: Final = "https://schema.org/"
# UN/CEFACT Recommendation 20, common codes.
_PIECES: Final = {"C62": ""}
_UNITS: Final = _PIECES | {unit.code: "" if unit.size == 1 else f" {unit.sign}" for unit in UNITS if unit.code}
_DEEPEST: Final = bounds.EXPORT_DEEP
_AGAIN: Final = "Export it again."
_TOO_MANY: Final = ("it has more rows than any shop.", "Is it the right file?")
_TOO_DEEP: Final = ("it is nested too deeply.", "Is it the right file?")


def read_json_lines(text: str) -> list[dict[str, str]]:
    """Return the rows of JSON Lines.

    Raises:
        FieldError: a line is no JSON object; a last one cut short says that the export breaks off.
    """
    rows = []
    for number, line in enumerate(io.StringIO(text, newline=None), 1):  # a U+2028 within a text ends no line of JSON
        if line.strip():
            row = _loaded(line, f"line {number} is no JSON object; does the export break off there?")
            if not isinstance(row, dict):
                raise FieldError(f"line {number} is no JSON object.", _AGAIN)
            rows.append({name: fact_text(value) for name, value in row.items()})
            _refuse_many(len(rows))
    return rows


def read_json(text: str) -> list[dict[str, str]]:
    """Return a row for every product that has a sku, but for those that lie in another.

    Raises:
        FieldError: it is no JSON, or holds none.
    """
    document = _loaded(text, "it is no JSON; does the export break off?")
    rows = []
    for node, group in _products(document, {}, 0):
        rows.append(_product(node, group))
        _refuse_many(len(rows))
    if not rows:
        raise FieldError("it holds no product with a sku.", "Is it the right file?")
    return rows


def _refuse_many(rows: int) -> None:
    if rows > bounds.EXPORT_ROWS:
        raise FieldError(*_TOO_MANY)


def _refuse_wide(headings: Sequence[str]) -> None:
    """Raise FieldError where each row would be filled up to columns that no table has."""
    if len(headings) > bounds.EXPORT_COLUMNS:
        raise FieldError("it has more columns than any shop's table.", "Is it the right file?")


def _loaded(text: str, message: str) -> Any:  # noqa: ANN401 (any JSON)
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as fault:
        raise FieldError(message, _AGAIN) from fault


def fact_text(value: Any, depth: int = 0) -> str:  # noqa: ANN401 (any JSON)
    """Return a fact as text: lists joined, a quantity's number with its unit, nothing as "".

    Raises:
        FieldError: it is nested too deeply; `depth` is how deep it lies.
    """
    if depth > _DEEPEST:
        raise FieldError(*_TOO_DEEP)
    if isinstance(value, list):
        return BETWEEN.join([fact_text(member, depth + 1) for member in value])
    if isinstance(value, dict):
        if "value" not in value:
            return fact_text(value.get("name", ""), depth + 1)
        unit = fact_text(value.get("unitCode", ""), depth + 1)
        return fact_text(value["value"], depth + 1) + _UNITS.get(unit, f" {unit}")
    if isinstance(value, bool):
        return "true" if value else "false"
    return "" if value is None else str(value)


def _products(node: Any, group: dict[str, Any], depth: int) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:  # noqa: ANN401 (any JSON)
    if depth > _DEEPEST:
        raise FieldError(*_TOO_DEEP)
    if isinstance(node, list):
        for one in node:
            yield from _products(one, group, depth + 1)
    elif isinstance(node, dict):
        if "sku" in node:
            yield node, group
            return
        inner = node if "productGroupID" in node else group
        for one in node.values():
            yield from _products(one, inner, depth + 1)


def _product(node: dict[str, Any], group: dict[str, Any]) -> dict[str, str]:
    """Return one variant's facts under our names."""
    offer = _node(node.get("offers"))
    brand = _node(group.get("brand", node.get("brand")))
    shipping = _node(offer.get("shippingDetails"))
    chosen = _list(node.get("additionalProperty"))
    facts = {name: node.get(name) for name in ("sku", "gtin", "name", "image", "weight", "width", "height", "depth")}
    facts |= {name: group.get(name) for name in ("description", "keywords", "url", "category")}
    facts |= {
        name: offer.get(name)
        for name in ("price", "priceCurrency", "priceValidUntil", "availabilityStarts", "availabilityEnds")
    }
    facts |= {
        "inProductGroupWithID": node.get("inProductGroupWithID", group.get("productGroupID")),
        "title": group.get("name"),
        "brand": brand.get("name"),
        "availability": fact_text(offer.get("availability")).removeprefix(SCHEMA_ORG),
        "inventoryLevel": offer.get("inventoryLevel"),
        "parcelWeight": shipping.get("weight"),
        "slot": [one.get("name") for one in chosen],
        "choice": [one.get("value") for one in chosen],
    }
    return {name: fact_text(value) for name, value in facts.items()}


def _list(value: Any) -> list[dict[str, Any]]:  # noqa: ANN401 (any JSON)
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


def _node(value: Any) -> dict[str, Any]:  # noqa: ANN401 (any JSON)
    if isinstance(value, list) and value:
        value = value[0]
    return value if isinstance(value, dict) else {}


EXPORT_LIMIT: Final = bounds.EXPORT_BYTES
"""Bytes; a larger export is not read."""
_SEPARATORS: Final = ",;\t|"
_LONGEST_HEADER: Final = bounds.EXPORT_HEADER_BYTES
_LARGEST_JSON: Final = bounds.EXPORT_JSON_BYTES
_PIECE: Final = 1_000_000
_JSON_ENDINGS: Final = (".json", ".jsonl")

Known = Callable[[Sequence[str]], int]
"""How many headings of a row are known."""


@dataclass(frozen=True, slots=True)
class ExportRow:
    """One row: its physical line (row of a sheet, line of JSON Lines, number of a product in JSON), and its cells.

    A cell is None where the row has none.
    """

    line: int
    cells: tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class Export:
    """A table by its headings; of JSON, `facts` says that cells are facts as listkit writes them, not a dialect's."""

    headings: tuple[str, ...]
    rows: Iterator[ExportRow]
    facts: bool = False


def read_export(name: str, content: bytes, known: Known, *, header: tuple[str, ...] = ()) -> Export:
    """Return the table in `content`; `name` is the file's, whose ending tells JSON.

    `known` chooses the separator; `header` is given where the dialect has no row of headings.

    Raises:
        FieldError: it is empty, no table, or breaks off (also later, while rows are taken).
    """
    if not content or content.isspace():
        raise FieldError("the export is empty.", _AGAIN)
    if is_workbook(content):
        rows = ((row.line, [cell.text for cell in row.cells]) for row in workbook_rows(content, as_shown=False))
        return _table(rows, header)
    encoding, ending = _encoding(content), PurePath(name).suffix.lower()
    head = content[:_LONGEST_HEADER].decode(encoding or "latin-1", "ignore")
    if encoding and ending not in _JSON_ENDINGS and head.lstrip()[:1] not in ("{", "["):
        return _table(_csv(content, encoding, known), header)
    if len(content) > _LARGEST_JSON or sum(map(content.count, (b"[", b"{", b",", b":"))) > bounds.EXPORT_JSON_VALUES:
        message = f"as JSON it is larger than {_LARGEST_JSON // 1_000_000} MB, or holds more than any shop has."
        raise FieldError(message, "Export it as CSV, or fewer rows.")
    source = decoded_table(name, content)
    if isinstance(source, Problem):
        raise FieldError(source.message, _AGAIN)
    if ending == ".jsonl" or _begins_with_object_line(source.text):
        return _json(read_json_lines(source.text))
    return _json(read_json(source.text))


def _encoding(content: bytes) -> str:
    """Return what a table is written in, looked at piece by piece, so that a large one is held once; "" if none."""
    for encoding in ("utf-16",) if content.startswith(UTF16) else ("utf-8-sig", "windows-1252"):
        decoder = codecs.getincrementaldecoder(encoding)()
        try:
            pieces = (content[at : at + _PIECE] for at in range(0, len(content), _PIECE))
            if any("\0" in decoder.decode(piece) for piece in pieces):
                return ""
            decoder.decode(b"", True)
        except UnicodeDecodeError:
            continue
        return encoding
    return ""


def _begins_with_object_line(text: str) -> bool:
    """Whether the first line is a JSON object by itself and more follow: JSON Lines, whatever the file is called."""
    if text.lstrip()[:1] != "{":
        return False
    first, _, rest = text.lstrip().partition("\n")
    if not rest.strip():
        return False
    try:
        return isinstance(json.loads(first), dict)
    except (ValueError, RecursionError):
        return False


def _csv(content: bytes, encoding: str, known: Known) -> Iterator[tuple[int, list[str]]]:
    """Yield line and cells of every row that is not blank."""
    first = 1
    head = content[:_LONGEST_HEADER].decode(encoding, "ignore")
    text = io.TextIOWrapper(io.BytesIO(content), encoding, newline="")
    separator, table = stated_separator(head)
    if separator:
        first, head = 2, table
        text.readline()
    separator = separator or max(_SEPARATORS, key=lambda sign: known(_first_row(head, sign)))
    reader = csv.reader(text, delimiter=separator, strict=True)
    line = first
    with long_cells(bounds.EXPORT_CELL):
        try:
            for cells in reader:
                if cells:
                    yield line, cells
                line = reader.line_num + first
        except csv.Error as fault:
            what = "" if "larger than" in str(fault) else "; the export breaks off"
            raise FieldError(f"line {line}: {broken_row(str(fault))[0]}{what}.", _AGAIN) from fault


def _first_row(head: str, separator: str) -> list[str]:
    try:
        return next((row for row in csv.reader(io.StringIO(head, newline=""), delimiter=separator) if row), [])
    except csv.Error:
        return []


def _table(rows: Iterator[tuple[int, list[str]]], header: tuple[str, ...]) -> Export:
    headings = header
    if not header:
        _, cells = next(rows, (0, []))
        headings = tuple(cell.strip().removeprefix("\ufeff").removeprefix("'") for cell in cells)
    if not any(headings):
        raise FieldError("the export has no row of headings.", _AGAIN)
    _refuse_wide(headings)
    return Export(headings, _filled(rows, len(headings)))


def _filled(rows: Iterator[tuple[int, list[str]]], width: int) -> Iterator[ExportRow]:
    """Yield rows of one width; a short last one says that the export breaks off."""
    ending: Iterator[tuple[int, list[str]] | None] = chain(rows, (None,))
    row, count = next(ending), 0
    while row is not None:
        line, cells = row
        row, count = next(ending), count + 1
        _refuse_many(count)
        if not any(cells):
            continue
        missing = width - len(cells)
        if missing > 0 and row is None:
            message = f"line {line}, the last, has {len(cells)} of {times(width, 'cell')}; the export breaks off."
            raise FieldError(message, _AGAIN)
        if missing < 0 and any(cells[width:]):
            raise FieldError(
                f"line {line} has {times(len(cells), 'cell')} and the table {times(width, 'column')}.", _AGAIN
            )
        yield ExportRow(line, (*cells[:width], *([None] * missing)))


def _json(facts: Sequence[dict[str, str]]) -> Export:
    headings = tuple(dict.fromkeys(name for row in facts for name in row))
    _refuse_wide(headings)
    places = {name: at for at, name in enumerate(headings)}

    def cells(row: dict[str, str]) -> tuple[str, ...]:
        found = [""] * len(headings)
        for name, text in row.items():
            found[places[name]] = text
        return tuple(found)

    return Export(headings, (ExportRow(line, cells(row)) for line, row in enumerate(facts, 1)), facts=True)
