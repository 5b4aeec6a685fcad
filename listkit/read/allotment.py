"""Reads allotment.csv: how many of which code each place got when pieces were last allotted; and names in [allotment].

The rows are numbers that an owner may change by hand; one that cannot be read is told, and gives its place nothing.
"""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from listkit import bounds
from listkit.bounded_csv import broken_row
from listkit.model.allotment import ALLOTMENT_COLUMNS, NO_ALLOTMENT, SHOPS, Allotment, AllotmentRead, AllottedRow
from listkit.problem import FieldError, Place, Problem, quoted, times
from listkit.read.folder import SHOP, ShopFiles
from listkit.read.references import Lines
from listkit.read.source import decoded, read_bytes
from listkit.read.wording import listed, perhaps, write_instead

_NUMBER: Final = re.compile(r"\d{1,9}", re.ASCII)
_MOST_TOLD: Final = 20
_ANEW: Final = "Mend it, or let listkit allot write the file anew."


def read_allotment(
    root: Path, files: ShopFiles, allotment: Allotment | None, lines: Lines
) -> tuple[AllotmentRead, list[Problem]]:
    """Return what allotment.csv says, what is wrong with it, and what [allotment] names that is not there.

    Without [allotment] nothing is read, whatever lies in the folder. `lines` has the codes of sets, items and variants.
    """
    if allotment is None:
        return NO_ALLOTMENT, []
    read, problems = _read(root, files.allotment) if files.allotment else (NO_ALLOTMENT, [])
    return read, [*_unknown_names(allotment, files.channel_keys, lines), *problems]


def _read(root: Path, file: str) -> tuple[AllotmentRead, list[Problem]]:
    """Return what allotment.csv says and what is wrong with it."""
    content = read_bytes(root, file)
    source = content if isinstance(content, Problem) else decoded(file, content)
    if isinstance(source, Problem):
        return AllotmentRead(file, whole=False), [source]
    try:
        return _parsed(file, _cells(source.text))
    except csv.Error as fault:
        message = f"{broken_row(str(fault))[0]}."
        return AllotmentRead(file, whole=False), [Problem(Place(file), "allotment-unread", message, _ANEW)]


def _parsed(file: str, rows: Iterator[tuple[int, Sequence[str]]]) -> tuple[AllotmentRead, list[Problem]]:
    """Return what rows say and what is wrong with them, of much the first: with any fault none of them is used."""
    headings = [cell.strip().casefold() for cell in next(rows, (1, []))[1]]
    missing = [name for name in ALLOTMENT_COLUMNS[:3] if name not in headings]
    if missing:
        message = f"its first row does not name {listed(missing, 'and')}."
        hint = f"Its first row is {','.join(ALLOTMENT_COLUMNS)}. {_ANEW}"
        return AllotmentRead(file, whole=False), [Problem(Place(file, 1), "allotment-unread", message, hint)]
    if twice := [name for name in ALLOTMENT_COLUMNS if headings.count(name) > 1]:
        message, hint = f"its first row names {listed(twice, 'and')} twice.", f"Take one of the two out. {_ANEW}"
        return AllotmentRead(file, whole=False), [Problem(Place(file, 1), "allotment-unread", message, hint)]
    read: dict[tuple[str, str], AllottedRow] = {}
    problems: list[Problem] = []
    for line, cells in rows:
        if len(problems) == _MOST_TOLD:
            break
        try:
            if len(read) == bounds.ALLOTTED_ROWS:
                message = f"it has more than {bounds.ALLOTTED_ROWS:,} rows."
                problems.append(Problem(Place(file, line), "allotment-unread", message, _ANEW))
                break
            if any(map(str.strip, cells[len(headings) :])):
                raise FieldError(f"it has {times(len(cells), 'cell')}, not {len(headings)}.", _ANEW)
            row = _row(dict(zip(headings, cells, strict=False)), line)
            if (row.place, row.code) in read:
                raise FieldError(f"{quoted(row.code)} has two rows for {quoted(row.place)}.", _ANEW)
            read[row.place, row.code] = row
        except FieldError as fault:
            problems.append(Problem(Place(file, line), "allotment-unread", fault.message, fault.hint))
    return AllotmentRead(file, tuple(read.values()), whole=not problems), problems


def _cells(text: str) -> Iterator[tuple[int, Sequence[str]]]:
    """Yield the rows that hold anything, with their lines."""
    first = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=first.count), strict=True)
    for row in reader:
        if any(cell.strip() for cell in row):
            yield reader.line_num, row


def _row(cells: dict[str, str], line: int) -> AllottedRow:
    place, code, pieces, after = (cells.get(name, "").strip() for name in ALLOTMENT_COLUMNS)
    for name, cell in zip(ALLOTMENT_COLUMNS, (place, code), strict=False):
        if not cell:
            raise FieldError(f"its {name} is empty.", _ANEW)
    if not _NUMBER.fullmatch(pieces):
        raise FieldError(f"{quoted(pieces)} is no number of pieces.", _ANEW)
    if after and not _NUMBER.fullmatch(after):
        raise FieldError(f"{quoted(after)} is no line of movements.csv.", _ANEW)
    return AllottedRow(place, code, int(pieces), int(after or 0), line)


def _unknown_names(allotment: Allotment, keys: tuple[str, ...], lines: Lines) -> Iterator[Problem]:
    """Yield the problems of places and codes that [allotment] names; `keys` are of the channel files, read or not."""
    once, known, told = set[str](), frozenset(keys), 0
    there = f"Channels are {listed(keys, 'and')}." if keys else "There are no channels."
    together = [
        (("together", at, number), key)
        for at, group in enumerate(allotment.together)
        for number, key in enumerate(group)
    ]
    wished = [(("wish", at, "place"), wish.place) for at, wish in enumerate(allotment.wishes) if wish.place]
    for path, key in (*((("first", at), key) for at, key in enumerate(allotment.first)), *together, *wished):
        place = Place(SHOP, key=("allotment", *path))
        if key not in known and not (path[0] == "wish" and key == SHOPS):
            hint = write_instead(key, known, told) or there
            told += 1
            yield Problem(place, "unknown-code", f"there is no channel {quoted(key)}.", hint)
        if path[0] == "together" and key in once:
            yield Problem(
                place, "code-twice", f"the channel {quoted(key)} is in it twice.", "Leave it in one list, once."
            )
        if path[0] == "together":
            once.add(key)
    for at, wish in enumerate(allotment.wishes if lines.known is not None else ()):
        for number, code in enumerate(wish.of):
            if not lines.names(code):
                place = Place(SHOP, key=("allotment", "wish", at, "of", number))
                hint = perhaps(code, lines.known or ()) or "Write the code of a set, a variant or a single piece."
                yield Problem(place, "unknown-code", f"there is no set, variant or piece {quoted(code)}.", hint)


def written_allotment(rows: Sequence[AllottedRow]) -> bytes:
    """Return the file of some rows."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(ALLOTMENT_COLUMNS)
    writer.writerows((row.place, row.code, row.pieces, row.after or "") for row in rows)
    return stream.getvalue().encode()
