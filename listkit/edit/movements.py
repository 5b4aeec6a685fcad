"""Adds lines to movements.csv: all at the end in one write, flushed to the disk; nothing that is there is touched.

The shop folder is locked meanwhile, and the file is read anew within the lock, so that two programs that add at once
see each other's lines. A last line that a kill cut off is marked and left.
"""

import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

from listkit.edit.past import opened
from listkit.model.movements import MovesRead, StockMove
from listkit.problem import BlockedError, FieldError, Problem, must_fix
from listkit.read.folder import MOVEMENTS
from listkit.read.movements import cannot_stand, moves_tail, parse_moves, written_moves
from listkit.read.source import TEXT_LIMIT, decoded, read_bytes

_ADDED: Final = (
    os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
)  # fmt: skip
Chosen = Callable[[MovesRead], Sequence[StockMove]]
"""What to add, by what the file holds at that moment."""


def add_moves(root: Path, chosen: Chosen) -> tuple[StockMove, ...]:
    """Add what `chosen` returns to the shop's movements and return it; nothing is written where it returns nothing.

    Raises:
        FieldError: the file cannot be read, `chosen` refuses, or with these lines the file could not be read again.
        BlockedError: another program is changing the shop and does not let go, or the disk is full or read-only.
    """
    with opened(root):
        text, is_new = _text(root), not os.path.lexists(root / MOVEMENTS)
        read, problems = parse_moves(MOVEMENTS, text)
        if must_fix(problems):
            raise _refused(next(each for each in problems if must_fix((each,))))
        moves = tuple(chosen(read))
        if moves:
            _append(root, _lines(moves, text))
            if is_new:
                _sync_folder(root)
    return moves


def _lines(moves: tuple[StockMove, ...], text: str) -> bytes:
    """Return the lines to add behind a text.

    Raises:
        FieldError: the file could not be read again with them.
    """
    if fault := cannot_stand(moves, text):
        hint = f"Nothing was added. Is it the right file? Else put old lines of {MOVEMENTS} away, and count anew."
        raise FieldError(f"{MOVEMENTS}: {fault}", hint)
    return "".join(written_moves(moves, moves_tail(text))).encode("utf-8", "replace")


def _text(root: Path) -> str:
    if not os.path.lexists(root / MOVEMENTS):
        return ""
    content = read_bytes(root, MOVEMENTS, limit=TEXT_LIMIT)
    source = content if isinstance(content, Problem) else decoded(MOVEMENTS, content)
    if isinstance(source, Problem):
        raise _refused(source)
    return source.text


def _refused(problem: Problem) -> BlockedError:
    line = f", line {problem.place.line}" if problem.place.line else ""
    return BlockedError(f"{MOVEMENTS}{line}: {problem.message}", f"{problem.hint} Nothing was added.")


def _append(root: Path, lines: bytes) -> None:
    """Write at the end and flush; where the disk takes only a part, what it took is cut away again."""
    descriptor = os.open(root / MOVEMENTS, _ADDED, 0o666)
    try:
        before = os.fstat(descriptor).st_size
        try:
            rest = lines
            while rest:
                rest = rest[os.write(descriptor, rest) :]
            os.fsync(descriptor)
        except OSError:
            with suppress(OSError):
                os.ftruncate(descriptor, before)
            raise
    finally:
        os.close(descriptor)


def _sync_folder(root: Path) -> None:
    """Flush the name of a new file; not every system lets a folder be opened."""
    with suppress(OSError):
        descriptor = os.open(root, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
