"""Changes single cells of a table in CSV and leaves every other byte as it is.

Separator, quotes, line ends and encoding stay as the owner's program writes them. A cell is only changed
where it holds the text that it is expected to hold, and a file only where nobody changed it meanwhile.
"""

import codecs
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.problem import BlockedError, FieldError
from listkit.save.out_folder import sha256_of
from listkit.save.place import placed

_SEPARATORS: Final = ",;\t"
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
    (b"", "utf-8"),
    (b"", "windows-1252"),
)


@dataclass(frozen=True, slots=True)
class CellEdit:
    """One cell: the physical line where its row begins (from 1), its column (from 0), its old and new text."""

    line: int
    column: int
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class _Span:
    """A cell's place in the text, with the quotes around it and without spaces before it; `content` is unquoted."""

    start: int
    end: int
    quoted: bool
    content: str


def with_cells(content: bytes, edits: Sequence[CellEdit]) -> bytes:
    """Return the table with these cells changed.

    Raises:
        FieldError: a cell does not hold its old text, or the new text has a letter that the encoding lacks.

    >>> with_cells(b"code;name\\r\\nB01; Bar\\r\\n", [CellEdit(line=2, column=1, old="Bar", new="Bar; large")])
    b'code;name\\r\\nB01; "Bar; large"\\r\\n'
    """
    mark, encoding, text = _decoded(content)
    parts, at = [mark], 0
    for span, edit, separator in sorted(_located(text, edits), key=lambda located: located[0].start):
        parts += [text[at : span.start].encode(encoding), _encoded(_in_style(edit.new, span, separator), encoding)]
        at = span.end
    return b"".join([*parts, text[at:].encode(encoding)])


def replace_file(path: Path, content: bytes, sha256: str) -> None:
    """Replace a file that still has this SHA-256; it is whole at every moment.

    Raises:
        BlockedError: somebody changed it meanwhile, it is a link, or it cannot be written to.
    """
    try:
        if path.is_symlink() or sha256_of(path) != sha256:
            raise BlockedError(f"{path.name} was changed meanwhile; nothing was written.", "Try again.")
        with placed((path,), lambda there: sha256_of(there) == sha256) as (part,):
            part.write_bytes(content)
    except OSError as fault:
        hint = "Close it if another program has it open, or make room on the disk."
        message = f"{path.name} cannot be written to, and is as it was: {fault.strerror}."
        raise BlockedError(message, hint) from fault


def _decoded(content: bytes) -> tuple[bytes, str, str]:
    """Return the byte order mark, the encoding and the text behind the mark, as `read` decodes tables."""
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            try:
                return mark, encoding, content[len(mark) :].decode(encoding)
            except UnicodeDecodeError:
                continue
    raise FieldError("the table is in no encoding that can be changed in place.", "Save it again as UTF-8.")


def _located(text: str, edits: Sequence[CellEdit]) -> list[tuple[_Span, CellEdit, str]]:
    """Return the place of each cell, and the separator with which all of them hold their old texts."""
    wanted = {edit.line for edit in edits}
    for separator in _SEPARATORS:
        rows = {line: spans for line, spans in _rows(text, separator) if line in wanted}
        located = []
        for edit in edits:
            spans = rows.get(edit.line, [])
            if edit.column < len(spans) and spans[edit.column].content.strip() == edit.old.strip():
                located.append((spans[edit.column], edit, separator))
        if len(located) == len(edits):
            return located
    lines = ", ".join(str(edit.line) for edit in edits[:5])
    raise FieldError(f"line {lines} does not say what it said when it was read.", "Change the cell by hand.")


def _rows(text: str, separator: str) -> Iterator[tuple[int, list[_Span]]]:
    """Yield each row's first line and its cells (RFC 4180, with spaces before quotes and any line end)."""
    at, line, size = 0, 1, len(text)
    while at < size:
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
