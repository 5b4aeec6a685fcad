"""Reads movements.csv: what came and went, a line each.

The file is only ever added to, so a line that cannot be read is told and left where it is. Lines are parted before they
are read: a quotation mark that a kill left open ends with its line. A last line without its end was cut off and is not
counted; whoever adds next marks it, and from then on it is passed over.
"""

import csv
import datetime
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Final

from listkit import bounds
from listkit.model.movements import MOVE_COLUMNS, MOVE_KINDS, NO_MOVES, TAKES_BACK, MoveKind, MovesRead, StockMove
from listkit.problem import FieldError, Level, Place, Problem, in_our_time, quoted, times
from listkit.read.source import TEXT_LIMIT, decoded, read_bytes
from listkit.read.wording import listed, write_instead

CUT_OFF: Final = "cut off"
"""What stands behind a line that a kill cut off, in a cell of its own."""
_FIRST: Final = f"{','.join(MOVE_COLUMNS)}\n"
_SEPARATORS: Final = ",;\t"
MOST_MOVED: Final = bounds.MOVED
_NUMBER: Final = re.compile(rf"\d{{1,{len(str(MOST_MOVED))}}}", re.ASCII)
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_MOST_TOLD: Final = 20
_ONCE: Final = ("code", "quantity")
"""What is counted: of two columns called so nobody knows which is meant; any other second one is the owner's own."""
_KINDS: Final[dict[str, tuple[MoveKind, bool]]] = {
    **{kind: (kind, False) for kind in MOVE_KINDS},
    **{f"{TAKES_BACK}{kind}": (kind, True) for kind in MOVE_KINDS},
}


@dataclass(frozen=True, slots=True)
class MovesTail:
    """What to know of a file to add to it: its separator, whether its last line lacks its end, what its first lacks.

    `columns` are those of the file in its order, which the owner may have changed; "" for one that is none of ours.
    """

    separator: str = ","
    torn: bool = False
    first: str = ""
    columns: tuple[str, ...] = MOVE_COLUMNS


def read_moves(root: Path, file: str) -> tuple[MovesRead, list[Problem]]:
    """Return what movements.csv says and what is wrong with it; nothing where there is no such file."""
    if not file:
        return NO_MOVES, []
    content = read_bytes(root, file, limit=TEXT_LIMIT)
    source = content if isinstance(content, Problem) else decoded(file, content)
    if isinstance(source, Problem):
        return MovesRead(file), [source]
    return parse_moves(file, source.text)


def moves_tail(text: str) -> MovesTail:
    r"""Return how a text of movements ends.

    >>> moves_tail("day;kind\n2026-12-05;so")
    MovesTail(separator=';', torn=True, first='', columns=('day', 'kind'))
    """
    if _FIRST.startswith(text):
        return MovesTail(first=_FIRST[len(text) :])
    header = text.partition("\n")[0]
    separator = max(_SEPARATORS, key=header.count)
    try:
        names = _names(header, separator)
    except FieldError:  # which the file is told of, and nothing is added
        names = []
    ours = (name if name in MOVE_COLUMNS and name not in names[:at] else "" for at, name in enumerate(names))
    return MovesTail(separator, torn=not text.endswith("\n"), columns=tuple(ours))


def parse_moves(file: str, text: str) -> tuple[MovesRead, list[Problem]]:
    """Return the movements of a text and what is wrong with it."""
    if not text.strip() or _FIRST.startswith(text):
        return MovesRead(file), []
    tail, lines = moves_tail(text), text.split("\n", bounds.MOVE_LINES)
    beyond = lines[bounds.MOVE_LINES :] if lines[-1] else []  # what stands behind so many line ends
    last = len(lines) if tail.torn and not beyond else 0
    columns, problems = _columns(file, lines[0], tail.separator)
    if columns is None:
        return MovesRead(file), problems
    moves: list[StockMove] = []
    for number, line in enumerate(lines[1 : bounds.MOVE_LINES], 2):
        if not line.strip() or line.rstrip("\r").endswith(f"{tail.separator}{CUT_OFF}"):
            continue
        if number == last:
            message = "the last line has no end: adding it was cut off, and it is not counted."
            hint = (
                "Add its file again, which adds what is missing. A line that you typed yourself: press Enter behind it."
            )
            problems.append(Problem(Place(file, number), "movement-torn", message, hint, Level.LOOK_AT))
            continue
        try:
            moves.append(_move(_cells(line, tail.separator), columns, len(tail.columns), number))
        except FieldError as fault:
            problems.append(Problem(Place(file, number), "movement-unread", fault.message, fault.hint))
            if len(problems) > bounds.FAULTY_MOVES:
                return MovesRead(file, tuple(moves)), _told(file, problems, left_out=True)
    if beyond:
        message = f"it has more than {bounds.MOVE_LINES:,} lines; those from here on are left out."
        hint = "Is it the right file? Else put old lines away, and count anew."
        problems.insert(0, Problem(Place(file, len(lines)), "movement-unread", message, hint))
    return MovesRead(file, tuple(moves)), _told(file, problems)


def _cells(line: str, separator: str) -> Sequence[str]:
    if '"' not in line:
        return line.rstrip("\r").split(separator)
    try:
        return next(csv.reader((line,), delimiter=separator, strict=True), ())
    except csv.Error:
        raise FieldError("a quotation mark is not closed.", "Close it, or take it out.") from None


def _names(header: str, separator: str) -> list[str]:
    return [cell.strip().casefold() for cell in _cells(header, separator)]


def _columns(file: str, header: str, separator: str) -> tuple[tuple[int, ...] | None, list[Problem]]:
    """Return where each of our columns is, None where one is missing, or counted and there twice."""
    try:
        names = _names(header, separator)
    except FieldError as fault:
        return None, [Problem(Place(file, 1), "movement-unread", fault.message, fault.hint)]
    missing = [name for name in MOVE_COLUMNS if name not in names]
    if missing and "\r" in header.rstrip("\r"):
        message, hint = "its lines end with CR alone, as of old programs.", "Save it again as CSV in UTF-8."
        return None, [Problem(Place(file, 1), "movement-unread", message, hint)]
    if missing:
        message = f"its first line does not name {listed(missing, 'and')}."
        hint = f"Its first line is {separator.join(MOVE_COLUMNS)}."
        return None, [Problem(Place(file, 1), "movement-unread", message, hint)]
    twice = [name for name in _ONCE if names.count(name) > 1]
    if twice:
        message, hint = f"its first line names {listed(twice, 'and')} twice.", "Take one of the two columns out."
        return None, [Problem(Place(file, 1), "movement-unread", message, hint)]
    return tuple(names.index(name) for name in MOVE_COLUMNS), []


def _move(cells: Sequence[str], columns: tuple[int, ...], width: int, line: int) -> StockMove:
    """Return the movement of a line; `width` is how many columns the file has.

    Raises:
        FieldError: a cell is missing, stands behind the last column, or says nothing that can be used.
    """
    if any(map(str.strip, cells[width:])):
        hint = "Put quotation marks around a cell that has the sign between cells in it."
        raise FieldError(f"it has {times(len(cells), 'cell')}, not {width}.", hint)
    if len(cells) < len(MOVE_COLUMNS) or len(cells) <= max(columns):
        raise FieldError(
            f"it has {times(len(cells), 'cell')}, not {len(MOVE_COLUMNS)}.", "Write every cell; an empty one is fine."
        )
    day, kind, code, quantity, place, set_code, note, batch = (cells[at].strip() for at in columns)
    known = _KINDS.get(kind)
    if known is None:
        hint = write_instead(kind, _KINDS) or f"Write {listed(MOVE_KINDS)}."
        raise FieldError(f"there is no kind {quoted(kind)}." if kind else "it names no kind.", hint)
    if not code:
        raise FieldError("it names no code.", "Write the code of an item, a box, a fill or the card.")
    if not _NUMBER.fullmatch(quantity):
        minus = quantity.startswith("-")
        way = '"came back"' if known[0] == "sold" else f'"{TAKES_BACK}{known[0]}"'
        hint = f"The kind says which way: write {way} and no minus." if minus else "Write how many."
        raise FieldError(f"{quoted(quantity)} is no number of pieces.", hint)
    return StockMove(
        day=parse_day(day),
        kind=known[0],
        code=code,
        quantity=int(quantity),
        place=place,
        set=set_code,
        note=note,
        batch=batch,
        takes_back=known[1],
        line=line,
    )


@lru_cache(maxsize=4_000)
def parse_day(text: str) -> datetime.date:
    """Return the day that "2026-12-05" names.

    Raises:
        FieldError: it names none.
    """
    try:
        day = datetime.date.fromisoformat(text) if _DAY.fullmatch(text) else None
    except ValueError:
        day = None
    if day is None:
        raise FieldError(f"{quoted(text)} is no day.", "Write it as 2026-12-05.")
    return in_our_time(day)


def _told(file: str, problems: list[Problem], *, left_out: bool = False) -> list[Problem]:
    """Return the problems, of very many lines the first and how many more there are; those behind may be left out."""
    if len(problems) <= _MOST_TOLD:
        return problems
    more = len(problems) - _MOST_TOLD
    message = f"{more} more lines cannot be read."
    if left_out:
        message = f"{more} more lines cannot be read, up to line {problems[-1].place.line}; those behind are left out."
    place = problems[_MOST_TOLD].place
    return [*problems[:_MOST_TOLD], Problem(place, "movement-unread", message, "Mend those above first.")]


def written_moves(moves: Sequence[StockMove], tail: MovesTail) -> Iterator[str]:
    """Yield the lines to add behind a text that ends so, each with its end; the first may end a torn one."""
    if tail.torn:
        yield f"{tail.separator}{CUT_OFF}\n"
    yield tail.first
    for move in moves:
        what = (move.day.isoformat(), move.kind_text, move.code, str(move.quantity))
        cells = dict(zip(MOVE_COLUMNS, (*what, move.place, move.set, move.note, move.batch), strict=True))
        yield f"{tail.separator.join(_written(cells.get(name, ''), tail.separator) for name in tail.columns)}\n"


def cannot_stand(moves: Sequence[StockMove], text: str) -> str:
    """Return why the file could not be read again with some movements behind its text, "" where it can."""
    tail = moves_tail(text)
    size = len(text.encode()) + sum(len(line.encode("utf-8", "replace")) for line in written_moves(moves, tail))
    if text.count("\n") + len(moves) + 1 > bounds.MOVE_LINES:
        return f"it would have more than {bounds.MOVE_LINES:,} lines."
    if size > TEXT_LIMIT:
        return f"it would be larger than {TEXT_LIMIT // 1_000_000} MB."
    header = tail.separator.join(name or "-" for name in tail.columns)
    lines = written_moves(moves, replace(tail, torn=False, first=""))
    problems = parse_moves("", "".join((header, "\n", *lines)))[1]
    return f"a line of it could not be read again: {problems[0].message}" if problems else ""


def as_read(move: StockMove) -> StockMove:
    """Return a movement as it is read again once it is written: its texts are of one line."""
    return replace(move, place=_plain(move.place), set=_plain(move.set), note=_plain(move.note))


def _plain(cell: str) -> str:
    """Return a cell on one line; none begins like a formula of a spreadsheet."""
    plain = " ".join(cell.split())
    return f"'{plain}" if plain.startswith(tuple("=+-@＝＋－＠")) else plain


def _written(cell: str, separator: str) -> str:
    """Return a cell on one line, in quotes where it needs them, or where its line would seem to be cut off."""
    plain = _plain(cell)
    if separator in plain or '"' in plain or plain == CUT_OFF:
        return '"{}"'.format(plain.replace('"', '""'))
    return plain
