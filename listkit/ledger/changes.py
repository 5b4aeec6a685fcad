"""What differs between two states of a channel, variant by variant and field by field; which changes look like slips.

Pure: rows in, changes and brakes out. Rows are facts as record.jsonl has them, by sku; fields are those of FIELDS.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from listkit.fields import FIELDS, Kind
from listkit.units.money import amount_of
from listkit.units.spoken import Spoken

Row = Mapping[str, Any]
"""One row's facts by field, as JSON has them; unknown facts are left out."""
Rows = Mapping[str, Row]
_ORDER: Final = {name: at for at, name in enumerate(FIELDS)}


@dataclass(frozen=True, slots=True)
class Change:
    """One fact of one variant that changed; None where it was, or is, unknown."""

    code: str
    field: str
    old: Any
    new: Any


@dataclass(frozen=True, slots=True)
class Changes:
    """New codes, codes that are gone, and every change of the others."""

    new: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    changed: tuple[Change, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.new or self.gone or self.changed)

    @property
    def changed_codes(self) -> tuple[str, ...]:
        """The codes of `changed`, each once."""
        return tuple(dict.fromkeys(change.code for change in self.changed))


@dataclass(frozen=True, slots=True)
class Move:
    """How far an amount of money moved; `share` is of the old amount, None where that was 0."""

    difference: Decimal
    share: Decimal | None


def changes(old: Rows, new: Rows) -> Changes:
    """Return what differs: new codes and changes in the order of `new`, gone ones in the order of `old`."""
    return Changes(
        tuple(code for code in new if code not in old),
        tuple(code for code in old if code not in new),
        tuple(change for code, row in new.items() if code in old for change in row_changes(code, old[code], row)),
    )


def row_changes(code: str, old: Row, new: Row) -> list[Change]:
    """Return the changes of one row, in the order of FIELDS."""
    names = [name for name, value in new.items() if old.get(name) != value]
    names += [name for name in old if name not in new]
    names.sort(key=lambda name: (_ORDER.get(name, len(_ORDER)), name))
    return [Change(code, name, old.get(name), new.get(name)) for name in names]


@dataclass(frozen=True, slots=True)
class OtherGoods:
    """A code under which something else was published than it has now, both in words of the place."""

    code: str
    was: str
    now: str


def codes_of_other_goods(old: Rows, new: Rows) -> Iterator[OtherGoods]:
    """Yield the codes that stand for another choice with other items in it; a choice that only reads otherwise not."""
    for code, row in new.items():
        if code in old and _meaning(old[code]) != _meaning(row):
            was, now = (tuple(map(str, each.get("choice") or ())) for each in (old[code], row))
            before, after = ([word for word in these if word not in those] for these, those in ((was, now), (now, was)))
            if before and after:
                yield OtherGoods(code, ", ".join(before), ", ".join(after))


def move(change: Change) -> Move | None:
    """Return how far an amount moved; None where the fact is no money, or one side is unknown."""
    field = FIELDS.get(change.field)
    if field is None or field.kind is not Kind.MONEY:
        return None
    old, new = amount_of(change.old), amount_of(change.new)
    if old is None or new is None:
        return None
    return Move(new - old, (new - old) / old if old else None)


# Brakes: changes so large that a slip is likelier than a decision; a build then asks for confirmation.

LARGEST_MOVE: Final = Decimal("0.3")
MOST_MOVES: Final = Decimal("0.5")
_FEW: Final = 5  # so many prices are looked over by eye anyway; a small shop has no more. Our own choice.


@dataclass(frozen=True, slots=True)
class BrakeRules:
    """Above which share a change is large; the shares are the owner's.

    `largest_move` is the share by which one price may move, `most_moves` the share of all prices that may move at
    once; exactly these shares do not brake. `known` are all codes of the shop, shown on this channel or not.
    `lowered` are the sets whose reduction begins or ends: their prices move by the owner's own rule. `spoken` words
    amounts.
    """

    spoken: Spoken
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
    """Return what is too large to be published without asking; () where nothing is.

    Args:
        old: the rows of the last record; none when nothing was recorded.
        new: today's rows.
        rules: from which share on a change is large.
        alike: how many rows were left out of both because they do not differ.
    """
    pulled = [brake for code in new for brake in _row_brakes(code, old.get(code), new[code], rules)]
    both = [code for code in new if code in old]
    moved = sum(new[code].get("price") != old[code].get("price") and not _is_lowered(new[code], rules) for code in both)
    count = len(both) + alike
    if moved > _FEW and moved > rules.most_moves * count:
        pulled.append(Brake("many-prices", "", f"{moved} of {count} prices move at once."))
    gone = [code for code in old if code not in new and code not in rules.known]
    pulled += [Brake("code-gone", code, f"{code} was published and is no longer in the shop.") for code in gone]
    return tuple(pulled)


def _row_brakes(code: str, old: Row | None, new: Row, rules: BrakeRules) -> Iterator[Brake]:
    before, now = (amount_of(row.get("price")) if row else None for row in (old, new))
    if not _is_lowered(new, rules) and before and now is not None and abs(now - before) > rules.largest_move * before:
        moved = f"{(now - before) / before * 100:+.0f} %"
        old_price, new_price = map(rules.spoken.money, (before, now))
        yield Brake("price-leaps", code, f"{code} goes from {old_price} to {new_price}, {moved}.")
    cost = amount_of(new.get("fullCost"))
    if now is not None and cost is not None and now < cost and not _was_below(old, now):
        price, full = map(rules.spoken.money, (now, cost))
        yield Brake("below-cost", code, f"{code} is sold at {price}, below its full cost of {full}.")
    if old is not None and _meaning(old) != _meaning(new):
        yield Brake("code-means-another", code, f"{code} was {_named(old)} and would now be {_named(new)}.")


def _is_lowered(row: Row, rules: BrakeRules) -> bool:
    return row.get("inProductGroupWithID") in rules.lowered


def _was_below(old: Row | None, now: Decimal) -> bool:
    """Whether the same price was published below cost before: then the owner has decided it."""
    if old is None or amount_of(old.get("price")) != now:
        return False
    cost = amount_of(old.get("fullCost"))
    return cost is not None and now < cost


def _meaning(row: Row) -> tuple[str, list[str]]:
    """Return what a code stands for: its set and the pieces in it."""
    return str(row.get("inProductGroupWithID", "")), sorted(map(str, row.get("itemCodes") or ()))


def _named(row: Row) -> str:
    group, items = _meaning(row)
    return f"{group} with {', '.join(items)}" if items else group
