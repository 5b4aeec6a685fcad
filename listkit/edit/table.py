"""Changes single cells and rows of a table in CSV and leaves every other byte as it is.

Separator, quotes, line ends and encoding stay as the owner's program writes them. A cell is only changed
where it holds the text that it is expected to hold, and a file only where nobody changed it meanwhile.
"""

import codecs
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from listkit.problem import BlockedError, FieldError, remedy_of
from listkit.save.out_folder import sha256_of
from listkit.save.place import placed

_SEPARATORS: Final = ",;\t"
_PLAIN: Final = re.compile(r'[^"\r\n]*(?:\r\n|\r|\n|\Z)')  # a row without quotes, which is one line
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
    (b"", "utf-8"),
    (b"", "windows-1252"),
)


ANY: Final = "\0"
"""In place of a cell's old text: whatever it holds."""


@dataclass(frozen=True, slots=True)
class CellEdit:
    """One cell: the physical line where its row begins (from 1), its column (from 0), its old and new text."""

    line: int
    column: int
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class _Span:
    """A cell's place in the text, with the quotes around it and without spaces before it; `content` is unquoted.

    `lacking` is how many separators a row that ends too early needs before it.
    """

    start: int
    end: int
    quoted: bool
    content: str
    lacking: int = 0


def with_cells(content: bytes, edits: Sequence[CellEdit], header: tuple[int, int] | None = None) -> bytes:
    """Return the table with these cells changed.

    Args:
        content: the table.
        edits: the cells.
        header: the line where the headings stand, and how many there are; then rows that end too early are filled up.

    Raises:
        FieldError: a cell does not hold its old text, or the new text has a letter that the encoding lacks.

    >>> with_cells(b"code;name\\r\\nB01; Bar\\r\\n", [CellEdit(line=2, column=1, old="Bar", new="Bar; large")])
    b'code;name\\r\\nB01; "Bar; large"\\r\\n'
    """
    mark, encoding, text = _decoded(content)
    parts, at = [mark], 0
    for span, edit, separator in sorted(
        _located(text, edits, header), key=lambda each: (each[0].start, each[1].column)
    ):
        new = separator * span.lacking + _in_style(edit.new, span, separator)
        parts += [text[at : span.start].encode(encoding), _encoded(new, encoding)]
        at = span.end
    return b"".join([*parts, text[at:].encode(encoding)])


def with_column(content: bytes, heading: str, line: int) -> bytes:
    """Return the table with one more column behind the last, empty but for its heading in that line.

    Raises:
        FieldError: it is in no encoding that can be changed in place.

    >>> with_column(b"code;name\\nB01;Bar\\n", "old codes", 1)
    b'code;name;old codes\\nB01;Bar;\\n'
    """
    mark, encoding, text = _decoded(content)
    by_separator = {separator: list(_rows(text, separator)) for separator in _SEPARATORS}
    widths = {each: next((len(row) for at, row in rows if at == line), 0) for each, rows in by_separator.items()}
    separator = max(widths, key=lambda each: widths[each])
    width = widths[separator]
    parts, at = [], 0
    for first, spans in by_separator[separator]:
        end = spans[-1].end
        blank = len(spans) == 1 and not spans[0].content.strip()
        added = separator * max(1, width + 1 - len(spans)) + (heading if first == line else "")
        parts += [text[at:end], "" if first < line or blank else added]
        at = end
    return mark + "".join([*parts, text[at:]]).encode(encoding)


def with_row(content: bytes, header: tuple[int, int], after: int, cells: Mapping[int, str]) -> bytes:
    r"""Return the table with one more row, below the one that begins on a line, and in the style of that.

    Args:
        content: the table.
        header: the line where its headings stand, and how many there are, which tells the separator.
        after: the line on which the row above the new one begins.
        cells: the texts by column, from 0; the others are empty.

    Raises:
        FieldError: there is no such line, or a text has a letter that the encoding lacks.

    >>> with_row(b"code;name\r\nB01;Bar\r\n", (1, 2), 2, {0: "B02", 1: "a; b"})
    b'code;name\r\nB01;Bar\r\nB02;"a; b"\r\n'
    """
    mark, encoding, text = _decoded(content)
    separator, rows = _rows_of(text, header, after)
    above = dict(enumerate(rows[after]))
    bare = _Span(0, 0, quoted=False, content="")
    width = max(header[1], *(column + 1 for column in cells))
    styled = (
        _in_style(cells.get(column, ""), replace(above.get(column, bare), content=""), separator)
        for column in range(width)
    )
    end, row = rows[after][-1].end, _encoded(separator.join(styled), encoding)
    parts = text[:end].encode(encoding), _line_end(text, rows[header[0]]).encode(encoding), row
    return mark + b"".join(parts) + text[end:].encode(encoding)


def without_row(content: bytes, header: tuple[int, int], line: int) -> bytes:
    r"""Return the table without the row that begins on a line; `header` and what is raised are those of `with_row`.

    >>> without_row(b"code,name\nB01,Bar\nB02,Jar\n", (1, 2), 2)
    b'code,name\nB02,Jar\n'
    """
    mark, encoding, text = _decoded(content)
    _, rows = _rows_of(text, header, line)
    start = max(text.rfind("\n", 0, rows[line][0].start), text.rfind("\r", 0, rows[line][0].start)) + 1
    end = rows[line][-1].end
    behind = len(_line_end(text, rows[line])) if end < len(text) else 0
    if not behind:  # the last line has no end, so the one above it is to have none
        above = text[:start]
        start -= 2 if above.endswith("\r\n") else 1 if start else 0
    return mark + (text[:start] + text[end + behind :]).encode(encoding)


def replace_files(changes: Sequence[tuple[Path, bytes, str]]) -> None:
    """Replace files that still have these SHA-256; each is whole at every moment, and none new before all are written.

    Raises:
        BlockedError: somebody changed one meanwhile, it is a link, or it cannot be written to.
    """
    hashes = {path: sha256 for path, _, sha256 in changes}
    try:
        for path, sha256 in hashes.items():
            if path.is_symlink() or sha256_of(path) != sha256:
                raise BlockedError(f"{path.name} was changed meanwhile; nothing was written.", "Try again.")
        with placed(tuple(hashes), lambda there: sha256_of(there) == hashes[there]) as parts:
            for part, (_, content, _) in zip(parts, changes, strict=True):
                part.write_bytes(content)
    except OSError as fault:
        written = [path.name for path, sha256 in hashes.items() if sha256_of(path) != sha256]
        hint = "Close what another program has open, allow writing there, or make room on the disk."
        if written:
            what, hint = f"{', '.join(written)} is written and the rest is as it was", f"{hint} Then do the same again."
        elif len(hashes) > 1:
            what = f"{len(hashes)} files cannot be written to, and are as they were"
        else:
            what = f"{next(iter(hashes)).name} cannot be written to, and is as it was"
        raise BlockedError(f"{what}: {fault.strerror}.", remedy_of(fault, hint)) from fault


def _decoded(content: bytes) -> tuple[bytes, str, str]:
    """Return the byte order mark, the encoding and the text behind the mark, as `read` decodes tables."""
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            try:
                return mark, encoding, content[len(mark) :].decode(encoding)
            except UnicodeDecodeError:
                continue
    raise FieldError("the table is in no encoding that can be changed in place.", "Save it again as UTF-8.")


def _rows_of(text: str, header: tuple[int, int], line: int) -> tuple[str, dict[int, list[_Span]]]:
    """Return the separator that gives the header its number of cells, and all rows by their first lines."""
    for separator in _SEPARATORS:
        rows = dict(_rows(text, separator, {header[0], line}))
        if len(rows.get(header[0], ())) == header[1] and line in rows:
            return separator, rows
    raise FieldError(f"line {line} does not say what it said when it was read.", "Change the table by hand.")


def _line_end(text: str, row: Sequence[_Span]) -> str:
    """Return the line end behind a row; the usual one of tables where it has none."""
    ends = text[row[-1].end : row[-1].end + 2]
    return ends if ends == "\r\n" else ends[:1] or ("\r\n" if "\r\n" in text else "\n")


def _located(text: str, edits: Sequence[CellEdit], header: tuple[int, int] | None) -> list[tuple[_Span, CellEdit, str]]:
    """Return the place of each cell, and the separator with which all of them hold their old texts."""
    wanted = {edit.line for edit in edits}
    for separator in _SEPARATORS if header is None else _rows_of(text, header, header[0])[0]:
        rows = dict(_rows(text, separator, wanted))
        located: list[tuple[_Span, CellEdit, str]] = []
        for edit in sorted(edits, key=lambda edit: (edit.line, edit.column)):
            spans = rows.get(edit.line, [])
            if spans and header is not None and len(spans) <= edit.column < header[1]:
                end, before = spans[-1].end, edit.column - len(spans) + 1
                before -= sum(span.lacking for span, placed_edit, _ in located if placed_edit.line == edit.line)
                spans = [*spans, *[_Span(end, end, quoted=False, content="", lacking=before)] * (edit.column + 1)]
            held = spans[edit.column].content.strip() if edit.column < len(spans) else None
            if held is not None and (edit.old == ANY or held == edit.old.strip()):
                located.append((spans[edit.column], edit, separator))
        if len(located) == len(edits):
            return located
    lines = ", ".join(dict.fromkeys(str(edit.line) for edit in edits[:5]))
    raise FieldError(f"line {lines} does not say what it said when it was read.", "Change the cell by hand.")


def _rows(text: str, separator: str, wanted: Collection[int] | None = None) -> Iterator[tuple[int, list[_Span]]]:
    """Yield each row's first line and its cells (RFC 4180, with spaces before quotes and any line end).

    Where some lines are `wanted`, rows behind the last are left out, and others may be.
    """
    at, line, size = 0, 1, len(text)
    last = max(wanted, default=0) if wanted is not None else size
    while at < size and line <= last:
        if wanted is not None and line not in wanted and (plain := _PLAIN.match(text, at)):
            at, line = plain.end(), line + 1
            continue
        spans, first = [], line
        while True:
            span = _span(text, at, separator)
            spans.append(span)
            cell = text[span.start : span.end]
            line += cell.count("\n") + cell.count("\r") - cell.count("\r\n")
            at = span.end
            if at >= size or text[at] != separator:
                break
            at += 1
        at += 2 if text[at : at + 2] == "\r\n" else 1
        line += 1
        yield first, spans


def _span(text: str, at: int, separator: str) -> _Span:
    """Return the cell that begins at `at`."""
    start, size = at, len(text)
    while start < size and text[start] == " ":
        start += 1
    if text[start : start + 1] != '"':
        end = start
        while end < size and text[end] not in (separator, "\r", "\n"):
            end += 1
        return _Span(start, end, quoted=False, content=text[start:end])
    end = start + 1
    while (end := text.find('"', end)) >= 0 and text[end + 1 : end + 2] == '"':
        end += 2
    if end < 0:
        return _Span(start, size, quoted=True, content="")
    content = text[start + 1 : end].replace('""', '"')
    rest = end + 1
    while rest < size and text[rest] not in (separator, "\r", "\n"):  # `read` refuses text behind the quotes too
        rest += 1
    if rest != end + 1:
        return _Span(start, rest, quoted=True, content="")
    return _Span(start, end + 1, quoted=True, content=content)


def _in_style(new: str, span: _Span, separator: str) -> str:
    """Return the new text as the old one is written: in quotes, or bare where it can be."""
    if span.quoted or any(sign in new for sign in (separator, '"', "\r", "\n")) or new != new.strip():
        doubled = new.replace('"', '""')
        return f'"{doubled}"'
    behind = span.content[len(span.content.rstrip()) :]
    return new + behind


def _encoded(text: str, encoding: str) -> bytes:
    try:
        return text.encode(encoding)
    except UnicodeEncodeError as fault:
        message = f'the table is in {encoding}, which has no "{text[fault.start]}".'
        raise FieldError(message, "Save it as UTF-8 first.") from fault
