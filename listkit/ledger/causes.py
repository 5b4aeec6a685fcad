"""Why a channel's rows changed: every change in exactly one cause, named by what moved in the owner's files.

Where several movements bear on one change together, their common cause names them all. What nothing
on record explains is a cause of its own and says so.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from listkit.ledger.changes import Change, Changes, Row, Rows
from listkit.ledger.movements import Movement
from listkit.ledger.reasons import GROUPS, MOST_NAMED, Reasons, Where, is_by_offer

_FIGURES: Final = re.compile(r"\d+(?:[.,]\d+)*")
_AFTER_FIGURES: Final = ("price", "weight", "date", "stock", "text")
_AFTER_TEXT: Final = ("text", "price", "weight", "date")


@dataclass(frozen=True, slots=True)
class Cause:
    """Why some changes came about; `codes` are the variants it moves, `sets` theirs.

    `moved` is empty where nothing on record explains them.
    """

    kind: str
    words: str
    codes: tuple[str, ...]
    sets: tuple[str, ...]
    moved: tuple[Movement, ...] = ()
    new: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()


@dataclass(slots=True)
class _Group:
    """What one cause gathers."""

    new: list[str] = field(default_factory=list)
    gone: list[str] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)


_Key = tuple[tuple[int, ...], str]
"""What moved, as places in the movements, and, where nothing did, the group of the facts."""


def first_record(found: Changes, new: Rows) -> tuple[Cause, ...]:
    """Return the one cause of everything being new: nothing was recorded before."""
    sets = tuple(dict.fromkeys(_set_of(new[code]) for code in found.new))
    words = f"nothing was recorded before: {counted(sets, found.new)}"
    return (Cause("first record", words, found.new, sets, new=found.new),) if found.new else ()


def causes(
    found: Changes, old: Rows, new: Rows, moved: Sequence[Movement], contents: Mapping[str, Sequence[str]]
) -> tuple[Cause, ...]:
    """Return the causes of all changes, those of the owner's files first, the widest first.

    Args:
        found: the changes between `old` and `new`.
        old: the rows before; those that did not change may be left out, here and in `new`.
        new: the rows after.
        moved: what moved in items, sets and rules.
        contents: the item codes that each set may hold, before and after.
    """
    reasons = Reasons(moved, contents)
    groups: dict[_Key, _Group] = {}
    for key, change in _changed(found, old, new, reasons):
        groups.setdefault(key, _Group()).changes.append(change)
    for codes, rows, name in ((found.new, new, "new"), (found.gone, old, "gone")):
        for code in codes:
            movers = reasons.movers("shown", _where(rows[code], rows[code]), by_offer=True)
            getattr(groups.setdefault((movers, "" if movers else name), _Group()), name).append(code)
    told = [_cause(key, group, reasons, {**old, **new}) for key, group in groups.items()]
    return tuple(sorted(told, key=lambda one: (not one.moved, -len(one.codes), one.words)))


def _changed(found: Changes, old: Rows, new: Rows, reasons: Reasons) -> Iterator[tuple[_Key, Change]]:
    """Yield each change with the key of its cause."""
    turned = {_set_of(new[one.code]) for one in found.changed if one.field == "availability"}
    turned |= {_set_of(rows[code]) for codes, rows in ((found.new, new), (found.gone, old)) for code in codes}
    places: dict[str, Where] = {}
    masks: dict[tuple[str, str], bool] = {}
    for change in found.changed:
        code = change.code
        if code not in places:
            places[code] = _where(old[code], new[code])
        where = places[code]
        group = GROUPS.get(change.field, "text")
        tried: Iterable[str] = (group,)
        if group == "text":
            tried = _AFTER_FIGURES if _only_figures(change, masks) else _AFTER_TEXT
            tried = (*tried, *(["stock", "shown"] if where.sets[0] in turned else []))
        by_offer = is_by_offer(change.field)
        attempts = (reasons.movers(one, where, by_offer=by_offer) for one in tried)
        movers = next((movers for movers in attempts if movers), ())
        yield (movers, "" if movers else group), change


def _only_figures(change: Change, known: dict[tuple[str, str], bool]) -> bool:
    """Whether two texts differ in nothing but numbers."""
    old, new = (_joined(value) for value in (change.old, change.new))
    if (old, new) not in known:
        known[old, new] = _FIGURES.sub("0", old) == _FIGURES.sub("0", new)
    return known[old, new]


def _joined(value: Any) -> str:  # noqa: ANN401 (any fact)
    return "\n".join(map(str, value)) if isinstance(value, list) else str(value)


def _where(old: Row, new: Row) -> Where:
    rows = (new,) if old is new else (new, old)
    return Where(
        tuple(dict.fromkeys(_set_of(row) for row in rows)),
        tuple(dict.fromkeys(str(code) for row in rows for code in row.get("itemCodes") or ())),
        tuple(dict.fromkeys(str(row.get("box", "")) for row in rows)),
        tuple(dict.fromkeys(str(row.get("season", "")) for row in rows)),
    )


def _set_of(row: Row) -> str:
    return str(row.get("inProductGroupWithID") or row.get("sku", ""))


def _cause(key: _Key, group: _Group, reasons: Reasons, rows: Rows) -> Cause:
    places, unexplained = key
    moved = tuple(reasons.moved[at] for at in places)
    own = [change.code for change in group.changes if is_by_offer(change.field)]
    told = (*group.new, *group.gone, *(own or [change.code for change in group.changes]))
    codes = tuple(dict.fromkeys(told))
    sets = tuple(dict.fromkeys(_set_of(rows[code]) for code in codes))
    if moved:
        kind = " and ".join(dict.fromkeys(one.kind for one in moved))
        words = _words(_subject(moved, reasons), len(moved), counted(sets, codes))
    else:
        kind, words = unexplained, f"{unexplained}: {counted(sets, codes)}; nothing on record explains it"
    lists = (tuple(group.new), tuple(group.gone), tuple(group.changes))
    return Cause(kind, words, codes, sets, moved, *lists)


def _words(subject: str, moved: int, count: str) -> str:
    """Return "OH-B01 7.50 → 8.00 moves 3 sets, 7 variants", or what is no figure with its reach behind it."""
    if "→" in subject:
        return f"{subject} {'moves' if moved == 1 else 'move'} {count}"
    return f"{subject} ({count})"


def _subject(moved: Sequence[Movement], reasons: Reasons) -> str:
    told = []
    for one in moved:
        count = reasons.counts[one.key]
        many = f"the {one.fact.replace('_', ' ') or 'coming or going'} of {count} {one.what}s"
        told.append(many if count > MOST_NAMED else one.words)
    return " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)


def counted(sets: Sequence[str], codes: Sequence[str]) -> str:
    """Return "3 sets, 7 variants"."""
    return f"{len(sets)} set{'s' * (len(sets) != 1)}, {len(codes)} variant{'s' * (len(codes) != 1)}"
