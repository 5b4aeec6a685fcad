"""Why a channel's rows changed: each change belongs to exactly one cause, named by what moved in the owner's files.

Where several movements bear on a change, their common cause names them all. Changes that nothing on record explains
form causes of their own.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Final

from listkit.fields import FIELDS
from listkit.ledger.changes import Change, Changes, Row, Rows
from listkit.ledger.movements import Movement, counted_pieces, fact_text

# Which facts of a row follow from which facts of the owner's files: the formulas of `compute` read backwards.

_PRICE: Final = (
    "item.retail set.uplift set.ending set.option_prices set.contents set.box "
    "prices.uplift prices.ending prices.option_prices reduction.prices"
)
_COST: Final = "item.cost set.contents set.box set.card prices.wage box.cost box.minutes box.fill card.cost"
_PIECES: Final = "set.contents set.box set.card set.carton"
_SHOWN: Final = (
    "item.on_hand item.status set.status box.on_hand box.fill card.on_hand stock.hold_back "
    "allotted.* channel.hold_back channel.sold_out day.* channel.before channel.after channel.sets channel.leave_out"
)
FOLLOWS: Final[dict[str, tuple[str, ...]]] = {
    group: tuple(keys.split())
    for group, keys in {
        "price": f"{_PRICE} prices.tax item.tax channel.tax",
        "span": f"{_PRICE} {_SHOWN} {_PIECES} set.variants",
        "cost": _COST,
        "left": (
            f"{_PRICE} {_COST} set.wholesale prices.tax prices.wholesale prices.set_wholesale "
            "prices.wholesale_step sheet.display_sets "
            "channel.fee channel.fee_on channel.fixed_fee channel.fixed_fee_per channel.pieces_in_order "
            "channel.minimum_fee channel.tax channel.zone item.tax freight.* rates.* sheet.tiers sheet.display"
        ),
        "weight": f"item.weight {_PIECES} box.weight box.fill box.carton card.weight freight.* singles.carton",
        "size": f"item.size {_PIECES} box.outside box.inside",
        "stock": f"{_SHOWN} {_PIECES} set.variants",
        "photo": "set.photos set.variants channel.photo_address channel.photos_of channel.crops channel.limits",
        "date": "set.season season.* reduction.*",
        "shown": (
            f"sheet.lines set. set.contents set.variants set.not_together {_SHOWN} item. channel.rows set.* "
            "singles.items channel.singles"
        ),
        "text": (
            "item.code item.name item.form item.scent item.net item.container "
            "item.ingredients item.cautions item.larger "
            "item.gtin item.status item.shelf_life item.after_opening "
            "set.* season.* shop.* channel.* wording.* reduction.* day.*"
        ),
    }.items()
}
"""Groups of facts, and what they follow from: "item.retail", or "freight.*" for every fact of it."""
GROUPS: Final[dict[str, str]] = {
    name: group
    for group, names in {
        "price": "price priorPrice suggestedRetail includedTax",
        "span": "lowestPrice highestPrice figuresOf",
        "cost": "fullCost",
        "left": "kept wholesalePrice tierPrices displayPrice",
        "weight": "weight parcelWeight volumetricWeight chargeableWeight",
        "size": "width height depth fillShare box",
        "stock": "inventoryLevel canMake availability",
        "photo": "image alt",
        "date": "priceValidUntil availabilityStarts availabilityEnds season",
    }.items()
    for name in names.split()
}
_BY_OWN_CODE: Final = frozenset({"item", "set"})
_BY_CODE_BEHIND: Final = frozenset({"box", "season", "reduction", "day", "allotted"})
"""What moved by the code of what it concerns: as it is, or behind the word, "box P"; all else concerns every row."""
_ANYTHING: Final = ("", "")
MOST_NAMED: Final = 8
"""Up to so many movements of one fact are causes each; more are one cause together."""


@dataclass(frozen=True, slots=True)
class Where:
    """What a row belongs to: its set, items, box and season, after and before."""

    sets: tuple[str, ...]
    items: tuple[str, ...]
    boxes: tuple[str, ...]
    seasons: tuple[str, ...]


class Reasons:
    """Finds the movements that a fact of a row follows from."""

    def __init__(self, moved: Sequence[Movement], contents: Mapping[str, Sequence[str]]) -> None:
        """`contents` are the item codes that each set may hold, those of all its options."""
        self.moved = tuple(moved)
        self._contents = contents
        counts = Counter(movement.key for movement in moved)
        first = {_together(movement): at for at, movement in reversed(list(enumerate(moved)))}
        self._cause_at = [
            first[_together(movement)] if movement.what == "day" or counts[movement.key] > MOST_NAMED else at
            for at, movement in enumerate(moved)
        ]
        self.counts = counts
        self._of_group = {group: self._in(keys) for group, keys in FOLLOWS.items()}
        self.movers = cache(self._movers)
        self._concerning = cache(self._causes_by_code)

    def _in(self, keys: tuple[str, ...]) -> tuple[int, ...]:
        """Return the indices of movements with these keys; "set.*" leaves out the coming and going of whole sets."""
        prefixes = tuple(key[:-1] for key in keys if key.endswith("*"))
        return tuple(
            at
            for at, movement in enumerate(self.moved)
            if movement.key in keys or (movement.fact and prefixes and movement.key.startswith(prefixes))
        )

    def _movers(self, group: str, where: Where, *, by_offer: bool) -> tuple[int, ...]:
        """Return the indices in `moved` that a fact of this group follows from: of the row itself, else of its set.

        A fact that differs from variant to variant follows from the row's own items; where none of those moved, and
        for a fact that holds for the whole set, any item of the set counts.
        """
        if not self._of_group[group]:
            return ()
        if by_offer and (movers := self._related(group, where, where.items)):
            return movers
        of_set = [item for code in where.sets for item in self._contents.get(code, ())]
        return self._related(group, where, (*where.items, *of_set))

    def _related(self, group: str, where: Where, items: Sequence[str]) -> tuple[int, ...]:
        concerned = self._concerning(group)
        named = {"item": items, "set": where.sets, "box": where.boxes, "season": where.seasons}
        named |= dict.fromkeys(("reduction", "day", "allotted"), where.sets)
        related = set(concerned.get(_ANYTHING, ()))
        for what, codes in named.items():
            for code in codes:
                related.update(concerned.get((what, code), ()))
        return tuple(sorted(related))

    def _causes_by_code(self, group: str) -> dict[tuple[str, str], set[int]]:
        """Return the causes of a group by what they concern, so that no row is held against all that moved."""
        found: dict[tuple[str, str], set[int]] = {}
        for at in self._of_group[group]:
            movement = self.moved[at]
            concerns = _ANYTHING
            if movement.what in _BY_OWN_CODE:
                concerns = movement.what, movement.code
            elif movement.what in _BY_CODE_BEHIND:
                concerns = movement.what, movement.code.partition(" ")[2]
            found.setdefault(concerns, set()).add(self._cause_at[at])
        return found


def _together(movement: Movement) -> str:
    """Return what movements have in common that are one cause together: of a day what it brought to all its sets."""
    return movement.words if movement.what == "day" else movement.key


def is_by_offer(field: str) -> bool:
    """Whether a fact differs from variant to variant."""
    return field not in FIELDS or FIELDS[field].by_offer


# Causes: the changes grouped by what moved.

_FIGURES: Final = re.compile(r"\d+(?:[.,]\d+)*")
# The groups in which a text's reason is looked for, in this order: where only its numbers differ, figures come first.
_AFTER_FIGURES: Final = ("price", "weight", "date", "stock", "text")
_AFTER_TEXT: Final = ("text", "price", "weight", "date")


@dataclass(frozen=True, slots=True)
class Cause:
    """Why some changes came about; `codes` are the variants they concern, `sets` the sets of those.

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
    """The changes of one cause, while they are gathered."""

    new: list[str] = field(default_factory=list)
    gone: list[str] = field(default_factory=list)
    changes: list[Change] = field(default_factory=list)


_Key = tuple[tuple[int, ...], str]
"""The indices of the movements and, where there are none, the group of the facts."""


def first_record(changes: Changes, new: Rows) -> tuple[Cause, ...]:
    """Return the one cause of everything being new: nothing was recorded before."""
    sets = tuple(dict.fromkeys(_set_of(new[code]) for code in changes.new))
    words = f"nothing was recorded before: {counted(sets, changes.new, _pieces(changes.new, new))}"
    return (Cause("first record", words, changes.new, sets, new=changes.new),) if changes.new else ()


def causes(
    changes: Changes, old: Rows, new: Rows, moved: Sequence[Movement], contents: Mapping[str, Sequence[str]]
) -> tuple[Cause, ...]:
    """Return the causes of all changes: the explained before the others, those with most variants first.

    Args:
        changes: the changes between `old` and `new`.
        old: the rows before; those that did not change may be left out, here and in `new`.
        new: the rows after.
        moved: what moved in items, sets and rules.
        contents: the item codes that each set may hold, before and after.
    """
    reasons = Reasons(moved, contents)
    groups: dict[_Key, _Group] = {}
    for key, change in _changed(changes, old, new, reasons):
        groups.setdefault(key, _Group()).changes.append(change)
    for codes, rows, name in ((changes.new, new, "new"), (changes.gone, old, "gone")):
        for code in codes:
            movers = reasons.movers("shown", _where(rows[code], rows[code]), by_offer=True)
            getattr(groups.setdefault((movers, "" if movers else name), _Group()), name).append(code)
    rows = {**old, **new}
    gathered = [_cause(key, group, reasons, rows) for key, group in groups.items()]
    return tuple(sorted(gathered, key=lambda cause: (not cause.moved, -len(cause.codes), cause.words)))


def _changed(changes: Changes, old: Rows, new: Rows, reasons: Reasons) -> Iterator[tuple[_Key, Change]]:
    """Yield each change with the key of its cause."""
    turned = {_set_of(new[change.code]) for change in changes.changed if change.field == "availability"}
    turned |= {_set_of(rows[code]) for codes, rows in ((changes.new, new), (changes.gone, old)) for code in codes}
    places: dict[str, Where] = {}
    only_figures: dict[tuple[str, str], bool] = {}  # whether two texts differ in nothing but numbers
    for change in changes.changed:
        code = change.code
        if code not in places:
            places[code] = _where(old[code], new[code])
        where = places[code]
        group = GROUPS.get(change.field, "text")
        tried: Iterable[str] = (group,)
        if group == "text":
            texts = (fact_text(change.old), fact_text(change.new))
            if texts not in only_figures:
                only_figures[texts] = _FIGURES.sub("0", texts[0]) == _FIGURES.sub("0", texts[1])
            tried = _AFTER_FIGURES if only_figures[texts] else _AFTER_TEXT
            tried = (*tried, *(["stock", "shown"] if where.sets[0] in turned else []))
        by_offer = is_by_offer(change.field)
        attempts = (reasons.movers(name, where, by_offer=by_offer) for name in tried)
        movers = next((movers for movers in attempts if movers), ())
        yield (movers, "" if movers else group), change


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
    by_offer = [change.code for change in group.changes if is_by_offer(change.field)]
    codes = tuple(dict.fromkeys((*group.new, *group.gone, *(by_offer or [change.code for change in group.changes]))))
    sets = tuple(dict.fromkeys(_set_of(rows[code]) for code in codes))
    reach = counted(sets, codes, _pieces(codes, rows))
    if not moved:
        kind, words = unexplained, f"{unexplained}: {reach}; nothing on record explains it"
    else:
        kind = " and ".join(dict.fromkeys(movement.kind for movement in moved))
        subject = _subject(moved, reasons)
        if "→" in subject:
            words = f"{subject} {'moves' if len(moved) == 1 else 'move'} {reach}"
        else:
            words = f"{subject} ({reach})"
    return Cause(
        kind=kind,
        words=words,
        codes=codes,
        sets=sets,
        moved=moved,
        new=tuple(group.new),
        gone=tuple(group.gone),
        changes=tuple(group.changes),
    )


def _subject(moved: Sequence[Movement], reasons: Reasons) -> str:
    """Return what moved in a line: "OH-B01 7.50 → 8.00 and uplift", "the retail of 12 items"."""
    parts = []
    for movement in moved:
        count = reasons.counts[movement.key]
        fact = movement.fact.replace("_", " ")
        many = f"the {fact} of {count} {movement.what}s" if fact else f"{count} {movement.what}s that are new or gone"
        if count > MOST_NAMED and (went := counted_pieces(each for each in reasons.moved if each.key == movement.key)):
            many = f"{many} ({went})"
        parts.append(many if count > MOST_NAMED and movement.what != "day" else movement.words)
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def is_piece(row: Row) -> bool:
    """Whether a row is a single piece: the one item whose code it has, and no variant of a set."""
    return row.get("itemCodes") == [row.get("sku")]


def _pieces(codes: Iterable[str], rows: Rows) -> tuple[str, ...]:
    return tuple(code for code in codes if is_piece(rows[code]))


def counted(sets: Sequence[str], codes: Sequence[str], pieces: Sequence[str] = ()) -> str:
    """Return what is concerned; `pieces` are those of `codes` that are single pieces.

    >>> counted(["A", "B-1"], ["A-1", "A-2", "B-1"], ["B-1"]), counted(["B-1"], ["B-1"], ["B-1"])
    ('1 set, 2 variants and 1 single piece', '1 single piece')
    """
    of_sets, variants = len(sets) - len(pieces), len(codes) - len(pieces)
    words = [f"{of_sets} set{'s' * (of_sets != 1)}, {variants} variant{'s' * (variants != 1)}"]
    words = words if of_sets or not pieces else []
    words += [f"{len(pieces)} single piece{'s' * (len(pieces) != 1)}"] if pieces else []
    return " and ".join(words)
