"""Changes single cells of an XLSX workbook in the XML of their sheet; every other part stays byte for byte.

Saving through a workbook library would lose the stored result of every formula, which readers go by. A cell is left
to the owner's own program where something in the workbook is worked out from its sheet (the stored result would be
wrong then), where it holds a formula, or where it is protected. Texts are written into the cell, not among the shared
ones. The workbook goes through `read.sheet` first, which bounds what it may unpack to and refuses document types.
"""

import io
import re
import zipfile
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final
from xml.parsers import expat
from xml.sax.saxutils import escape, quoteattr

from listkit.problem import FieldError
from listkit.read.sheet import column_letters, workbook_rows

Contents = Mapping[int, str | Decimal]
"""New contents of cells of one row, by column from 0; "" empties a cell."""
_BOOK: Final = "xl/workbook.xml"
_LINKS: Final = "xl/_rels/workbook.xml.rels"
_LONGEST: Final = 32_767  # letters in a cell: Excel's own limit (from memory)
_REFERENCE: Final = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})", re.ASCII)
# What a formula may name of its own sheet: A1, $B$2, A:C, 3:4; not behind another sheet's name.
_OWN_CELLS: Final = re.compile(
    r"(?<![!\w.])\$?(?:[a-z]{1,3}\$?[0-9]+|[a-z]{1,3}:\$?[a-z]{1,3}|[0-9]+:\$?[0-9]+)(?![\w!])", re.ASCII
)
# Each part gives nothing back, so that a long text is walked along once.
_ANY_CELLS: Final = re.compile(r"indirect\s*+\(|\[|(?<![\w.])[\w.]++:[\w.]++!|'[^':]*+:[^']*+'!")
_IN_SHEETS: Final = frozenset({"sheetData", "row", "c", "f", "mergeCell", "sheetProtection"})
_FORMULA: Final = re.compile(rb"<(?:\w+:)?f[\s/>]")
_TAG: Final = re.compile(rb"<[^>\"']*(?:\"[^\"]*\"[^>\"']*|'[^']*'[^>\"']*)*>")
_SPANS: Final = re.compile(rb"\sspans=(?:\"[^\"]*\"|'[^']*')")
_FORBIDDEN: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_ESCAPED: Final = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_DAMAGED: Final = (
    zipfile.BadZipFile,
    zlib.error,
    expat.ExpatError,
    LookupError,
    ValueError,
    EOFError,
    OSError,
    RuntimeError,  # a picture that is encrypted, or packed as nobody here unpacks it
)


def with_workbook_cells(content: bytes, sheet: str, number: int, cells: Contents) -> bytes:
    """Return the workbook with cells of one row changed.

    Args:
        content: the workbook.
        sheet: the name of the sheet, "" for the first that is not hidden.
        number: which row, from 1.
        cells: what they are to hold; one that is not there yet looks as the one above it.

    Raises:
        FieldError: the workbook cannot be read, or a cell is to be changed in the owner's own program.
    """
    workbook_rows(content, sheet)
    named = f"{column_letters(min(cells))}{number}"
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            names = packed.namelist()
            if len(set(names)) < len(names) or any(name.startswith("_xmlsignatures/") for name in names):
                raise ValueError("signed, or a part twice")
            parts = {name: packed.read(name) for name in names if name.endswith((".xml", ".rels"))}
            name, part = _sheet_part(parts, sheet)
            changed = _with_cells(parts, (name, part), number, cells)
            return _packed(packed, part, changed)
    except FieldError:
        raise
    except _DAMAGED as fault:
        message = "the workbook is written in an unusual way, or signed."
        raise FieldError(message, f"Change {named} in your own program.") from fault


def _packed(old: zipfile.ZipFile, part: str, changed: bytes) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as new:
        new.comment = old.comment
        for info in old.infolist():
            new.writestr(info, changed if info.filename == part else old.read(info))
    return target.getvalue()


# XML parts, walked through without being held: one may have two million cells.


@dataclass(slots=True)
class _Element:
    """An element: local name, attributes, where its first tag and its last begin, the texts right in it."""

    name: str
    attributes: Mapping[str, str]
    start: int
    inner_end: int = 0
    texts: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        return "".join(self.texts).casefold()

    def begin(self, part: bytes) -> int:
        """Return where its first tag ends."""
        tag = _TAG.match(part, self.start)
        return tag.end() if tag else len(part)

    def is_empty(self, part: bytes) -> bool:
        """Whether it is one tag alone: <row r="3"/>."""
        return part[self.begin(part) - 2 : self.begin(part)] == b"/>"

    def end(self, part: bytes) -> int:
        """Return where its last tag ends."""
        tag = _TAG.match(part, self.start if self.is_empty(part) else self.inner_end)
        return tag.end() if tag else len(part)


def _walk(
    part: bytes, wanted: frozenset[str], begun: Callable[[_Element], None], ended: Callable[[_Element], None]
) -> None:
    """Hand out each wanted element of a part as it begins and as it ends; raise ValueError where it is not in UTF-8."""
    if part[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise ValueError("not UTF-8")
    around: list[_Element | None] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        local = name.rpartition(" ")[2]
        element = _Element(local, attributes, parser.CurrentByteIndex) if local in wanted else None
        around.append(element)
        if element is not None:
            begun(element)

    def end(_: str) -> None:
        element = around.pop()
        if element is not None:
            element.inner_end = parser.CurrentByteIndex
            ended(element)

    def text(letters: str) -> None:
        if around and (element := around[-1]) is not None and element.name in ("f", "definedName"):
            element.texts.append(letters)

    def declared(_version: str, encoding: str | None, _standalone: int) -> None:
        if encoding and encoding.lower() not in ("utf-8", "us-ascii"):
            raise ValueError("not UTF-8")

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler, parser.XmlDeclHandler = text, declared
    parser.Parse(part, True)


def _of_name(part: bytes, name: str) -> list[_Element]:
    """Return all elements of a name."""
    elements: list[_Element] = []
    _walk(part, frozenset({name}), lambda _: None, elements.append)
    return elements


def _sheet_part(parts: Mapping[str, bytes], sheet: str) -> tuple[str, str]:
    """Return a sheet's name and part; without a name the first sheet that is not hidden."""
    links = (link.attributes for link in _of_name(parts[_LINKS], "Relationship"))
    targets = {link["Id"]: link["Target"] for link in links}
    sheets = [each.attributes for each in _of_name(parts[_BOOK], "sheet")]
    shown = [each for each in sheets if each.get("state", "visible") == "visible"] or sheets
    chosen = next((each for each in sheets if each["name"] == sheet), shown[0]) if sheet else shown[0]
    target = targets[next(value for key, value in chosen.items() if key.rpartition(" ")[2] == "id")]
    return chosen["name"], target[1:] if target.startswith("/") else f"xl/{target}"


# What a sheet has at one row.


class _Row:
    """Where in the XML of a sheet the cells of one row are, or would be, and what forbids to change them."""

    def __init__(self, number: int, columns: frozenset[int]) -> None:
        self.number, self.columns = number, columns
        self.data: _Element | None = None
        self.element: _Element | None = None
        self.cells: dict[int, _Element] = {}  # the ones to be changed
        self.behind: dict[int, int] = {}  # where the next cell begins, by column to be changed
        self.next_row: int | None = None
        self.styles: dict[int, str] = {}  # of the cells above, by column
        self.formulas: list[str] = []
        self.refusal = ""
        self._at, self._column = 0, -1

    def begun(self, element: _Element) -> None:
        if element.name == "row":
            self._at, self._column = int(element.attributes.get("r", self._at + 1)), -1
            if self._at > self.number and self.next_row is None:
                self.next_row = element.start
        elif element.name == "c":
            place = _place(element.attributes.get("r", ""))
            self._column = place[1] if place else self._column + 1

    def ended(self, element: _Element) -> None:
        name, here = element.name, self._at == self.number
        if name == "sheetData":
            self.data = element
        elif name == "row" and here:
            self.element = element
        elif name == "c":
            self._cell(element, here=here)
        elif name == "f":
            self.formulas.append(element.text)
            if (here and self._column in self.columns) or self._within(element.attributes.get("ref", "")):
                self.refusal = "it holds a formula"
        elif name == "mergeCell" and self._within(element.attributes.get("ref", ""), but_first=True):
            self.refusal = "it is joined with others"
        elif name == "sheetProtection" and element.attributes.get("sheet", "").lower() in ("1", "true", "on"):
            self.refusal = "the sheet is protected"

    def _cell(self, element: _Element, *, here: bool) -> None:
        if here:
            for column in self.columns:
                if column < self._column:
                    self.behind.setdefault(column, element.start)
        if self._column in self.columns:
            if here:
                self.cells[self._column] = element
            elif self._at < self.number:
                self.styles[self._column] = element.attributes.get("s", "")

    def style(self, column: int) -> str:
        """Return the number of the style that a cell has, or is to have."""
        return self.cells[column].attributes.get("s", "") if column in self.cells else self.styles.get(column, "")

    def _within(self, area: str, *, but_first: bool = False) -> bool:
        """Whether one of the cells lies in an area such as "A1:B2"."""
        corners = [place for place in map(_place, area.split(":")) if place]
        if not corners:
            return False
        (top, left), (bottom, right) = corners[0], corners[-1]
        return top <= self.number <= bottom and any(
            left <= column <= right and not (but_first and (self.number, column) == (top, left))
            for column in self.columns
        )


def _place(reference: str) -> tuple[int, int] | None:
    """Return row and column of a cell's name: "B3" is (3, 1)."""
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        return None
    column = 0
    for letter in match[1].upper():
        column = column * 26 + ord(letter) - 64
    return int(match[2]), column - 1


def _worked_out(parts: Mapping[str, bytes], sheet: tuple[str, str], formulas: list[str]) -> bool:
    """Whether a formula of the workbook may go by what a sheet holds; `formulas` are its own."""
    name = sheet[0].replace("'", "''").casefold()

    def names_it(text: str) -> bool:
        return f"{name}!" in text or f"{name}'!" in text

    named = _of_name(parts[_BOOK], "definedName")
    aliases = [each.attributes["name"].casefold() for each in named if names_it(each.text)]
    everywhere = list(formulas)
    for file, content in parts.items():
        if file.startswith("xl/worksheets/") and file != sheet[1] and _FORMULA.search(content):
            everywhere += [formula.text for formula in _of_name(content, "f")]
    return any(map(_OWN_CELLS.search, formulas)) or any(
        names_it(text) or _ANY_CELLS.search(text) or any(alias in text for alias in aliases) for text in everywhere
    )


def _with_cells(parts: Mapping[str, bytes], sheet: tuple[str, str], number: int, cells: Contents) -> bytes:
    content, row = parts[sheet[1]], _Row(number, frozenset(cells))
    _walk(content, _IN_SHEETS, row.begun, row.ended)
    refusal = row.refusal
    if not refusal and _worked_out(parts, sheet, row.formulas):
        refusal = f'a formula goes by what the sheet "{sheet[0]}" holds'
    if refusal:
        named = " and ".join(f"{column_letters(column)}{number}" for column in sorted(cells))
        raise FieldError(f"{refusal}, so {named} cannot be changed here.", f"Change {named} in your own program.")
    if row.data is None:
        raise ValueError("no cells")
    prefix = content[row.data.start + 1 : content.index(b"sheetData", row.data.start)].decode()
    made = [(column, _cell(prefix, (number, column), row.style(column), cells[column])) for column in sorted(cells)]
    if row.element is None:
        whole = f'<{prefix}row r="{number}">'.encode() + b"".join(cell for _, cell in made) + f"</{prefix}row>".encode()
        return _spliced(content, _put_in(content, row.data, [(row.next_row, whole)]))
    added = [(row.behind.get(column), cell) for column, cell in made if column not in row.cells]
    there = [(row.cells[column], cell) for column, cell in made if column in row.cells]
    changed = [(old.start, old.end(content), cell) for old, cell in there]
    return _spliced(content, [*changed, *_put_in(content, row.element, added)])


Splice = tuple[int, int, bytes]
"""Bytes that take the place of others, from one offset to another."""


def _spliced(content: bytes, splices: list[Splice]) -> bytes:
    pieces, done = [], 0
    for start, end, added in sorted(splices, key=lambda splice: splice[:2]):
        pieces += [content[done:start], added]
        done = end
    return b"".join([*pieces, content[done:]])


def _put_in(content: bytes, around: _Element, added: list[tuple[int | None, bytes]]) -> list[Splice]:
    """Return what puts elements into another, each before one that is there, or at the end."""
    if not added:
        return []
    tag = _SPANS.sub(b"", content[around.start : around.begin(content)])
    if around.is_empty(content):
        name = tag[1:].rstrip(b"/>").split()[0]
        inner = b"".join(element for _, element in added)
        whole = tag.rstrip(b"/> \t\r\n") + b">" + inner + b"</" + name + b">"
        return [(around.start, around.end(content), whole)]
    places = [(around.inner_end if at is None else at, element) for at, element in added]
    return [(around.start, around.begin(content), tag), *((at, at, element) for at, element in places)]


def _cell(prefix: str, place: tuple[int, int], style: str, value: str | Decimal) -> bytes:
    """Return a cell in XML."""
    begin = f'<{prefix}c r="{column_letters(place[1])}{place[0]}"' + (f" s={quoteattr(style)}" if style else "")
    if isinstance(value, Decimal):
        return f"{begin}><{prefix}v>{value:f}</{prefix}v></{prefix}c>".encode()
    text = value.replace("\r\n", "\n").replace("\r", "\n")
    if _FORBIDDEN.search(text) or len(text) > _LONGEST:
        raise FieldError("a cell of a workbook cannot hold this text.", f"Write at most {_LONGEST:,} plain letters.")
    if not text:
        return f"{begin}/>".encode()
    inner = f'<{prefix}t xml:space="preserve">{escape(_ESCAPED.sub("_x005F_", text))}</{prefix}t>'
    return f'{begin} t="inlineStr"><{prefix}is>{inner}</{prefix}is></{prefix}c>'.encode()
