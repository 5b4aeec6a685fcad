"""What differs between two states of a channel, variant by variant and field by field.

Pure: rows in, changes out. Rows are facts as record.jsonl has them, by sku; fields are those of FIELDS.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from listkit.fields import FIELDS, Kind

Row = Mapping[str, Any]
"""One row's facts by field, as JSON has them; what is not known is not there."""
Rows = Mapping[str, Row]
_ORDER: Final = {name: at for at, name in enumerate(FIELDS)}


@dataclass(frozen=True, slots=True)
class Change:
    """One fact of one variant that is not what it was; None where it was, or is, not known."""

    code: str
    field: str
    old: Any
    new: Any


@dataclass(frozen=True, slots=True)
class Changes:
    """Codes that came and went, and every change of those that stayed."""

    new: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    changed: tuple[Change, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.new or self.gone or self.changed)

    @property
    def changed_codes(self) -> tuple[str, ...]:
        """The codes that stayed and differ, each once."""
        return tuple(dict.fromkeys(change.code for change in self.changed))


@dataclass(frozen=True, slots=True)
class Move:
    """How far an amount of money moved; `share` of the old one, None where that was nothing."""

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


def move(change: Change) -> Move | None:
    """Return how far an amount moved; None where the fact is no money, or one side is not known."""
    field = FIELDS.get(change.field)
    if field is None or field.kind is not Kind.MONEY:
        return None
    old, new = amount_of(change.old), amount_of(change.new)
    if old is None or new is None:
        return None
    return Move(new - old, (new - old) / old if old else None)


def amount_of(value: object) -> Decimal | None:
    """Return an amount as record.jsonl writes it; None for anything else."""
    if not isinstance(value, str):
        return None
    try:
        amount = Decimal(value)
    except InvalidOperation:
        return None
    return amount if amount.is_finite() else None
