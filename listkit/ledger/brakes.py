"""Brakes: changes so large that a slip is likelier than a decision; a build then asks to be told so.

Pure: the last record's rows and today's in, what should be looked at out. The shares are the owner's.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.ledger.changes import Row, Rows, amount_of

LARGEST_MOVE: Final = Decimal("0.3")
MOST_MOVES: Final = Decimal("0.5")
_FEW: Final = 5  # so many prices are looked over by eye anyway; in a small shop they are all there are. Our own choice.


@dataclass(frozen=True, slots=True)
class BrakeRules:
    """From where on a change is large.

    `largest_move` is the share by which one price may move, `most_moves` the share of all prices that may move at
    once; neither brakes when it is reached, only above. `known` are all codes that the shop has, shown here or not.
    `lowered` are the sets whose reduction begins or ends: their prices move as their owner wrote they should.
    """

    largest_move: Decimal = LARGEST_MOVE
    most_moves: Decimal = MOST_MOVES
    known: frozenset[str] = frozenset()
    lowered: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Brake:
    """One thing to look at before it is published; `kind` is for scripts, `code` "" where it concerns them all."""

    kind: str
    code: str
    message: str


def brakes(old: Rows, new: Rows, rules: BrakeRules, *, alike: int = 0) -> tuple[Brake, ...]:
    """Return what is too large to be published unasked; () where nothing is.

    Args:
        old: the rows of the last record; none when nothing was recorded.
        new: today's rows.
        rules: what is large.
        alike: how many rows were left out of both because they do not differ.
    """
    found = [brake for code in new for brake in _of_row(code, old.get(code), new[code], rules)]
    found += _too_many(old, new, rules, alike)
    gone = [code for code in old if code not in new and code not in rules.known]
    found += [Brake("code-gone", code, f"{code} was published and is no longer in the shop.") for code in gone]
    return tuple(found)


def _of_row(code: str, old: Row | None, new: Row, rules: BrakeRules) -> Iterator[Brake]:
    before, now = (amount_of(row.get("price")) if row else None for row in (old, new))
    if not _is_lowered(new, rules) and before and now is not None and abs(now - before) > rules.largest_move * before:
        moved = f"{(now - before) / before * 100:+.0f} %"
        yield Brake("price-leaps", code, f"{code} goes from {before} to {now}, {moved}.")
    cost = amount_of(new.get("fullCost"))
    if now is not None and cost is not None and now < cost and not _was_below(old, now):
        yield Brake("below-cost", code, f"{code} is sold at {now}, below its full cost of {cost}.")
    if old is not None and _meaning(old) != _meaning(new):
        yield Brake("code-means-another", code, f"{code} was {_told(old)} and would now be {_told(new)}.")


def _is_lowered(row: Row, rules: BrakeRules) -> bool:
    return row.get("inProductGroupWithID") in rules.lowered


def _was_below(old: Row | None, now: Decimal) -> bool:
    """Whether the same price was published below cost before: then it has been decided."""
    if old is None or amount_of(old.get("price")) != now:
        return False
    cost = amount_of(old.get("fullCost"))
    return cost is not None and now < cost


def _too_many(old: Rows, new: Rows, rules: BrakeRules, alike: int) -> Iterator[Brake]:
    both = [code for code in new if code in old]
    moved = sum(new[code].get("price") != old[code].get("price") and not _is_lowered(new[code], rules) for code in both)
    count = len(both) + alike
    if moved > _FEW and moved > rules.most_moves * count:
        yield Brake("many-prices", "", f"{moved} of {count} prices move at once.")


def _meaning(row: Row) -> tuple[str, list[str]]:
    """What a code stands for: its set and the pieces in it."""
    return str(row.get("inProductGroupWithID", "")), sorted(map(str, row.get("itemCodes") or ()))


def _told(row: Row) -> str:
    group, items = _meaning(row)
    return f"{group} with {', '.join(items)}" if items else group
