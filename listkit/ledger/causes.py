"""Why a channel's rows changed: every change in exactly one cause, named by what moved in the owner's files.

Where several movements bear on one change together, their common cause names them all. What nothing
on record explains is a cause of its own and says so.
"""

import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Final

from listkit.fields import FIELDS
from listkit.ledger.changes import Change, Changes, Row, Rows
from listkit.ledger.store import Facts

# What moved in the owner's own files between two records: the possible causes of changes.
#
# A movement is one fact of one item, set or rule, as text. Its kind is a word or two for people and
# scripts, its words say it in a line: "OH-B01 7.50 → 8.00".

_SHORT: Final = 40  # characters; a longer text is named, not shown
KINDS: Final = {
    "item.retail": "item price",
    "item.cost": "item cost",
    "item.weight": "item weight",
    "item.on_hand": "stock",
    "item.status": "item status",
    "item.": "item",
    "item.*": "item text",
    "set.uplift": "uplift",
    "set.ending": "price rule",
    "set.option_prices": "price rule",
    "set.wholesale": "price rule",
    "set.box": "packaging",
    "set.card": "packaging",
    "set.carton": "packaging",
    "set.photos": "photo",
    "set.season": "season",
    "set.status": "set status",
    "set.variants": "variant",
    "set.*": "text",
    "prices.uplift": "uplift",
    "prices.*": "price rule",
    "stock.*": "stock rule",
    "freight.*": "freight",
    "box.*": "packaging",
    "card.*": "packaging",
    "season.*": "season",
    "reduction.*": "reduction",
    "channel.*": "channel",
    "sheet.tiers": "price rule",
    "sheet.display": "price rule",
    "sheet.*": "line sheet",
    "shop.*": "shop",
    "wording.*": "text",
}


@dataclass(frozen=True, slots=True)
class Movement:
    """One fact that moved. `fact` "" is the whole thing, which came (`old` is "") or went (`new` is "")."""

    section: str
    code: str
    fact: str
    old: str
    new: str

    @property
    def what(self) -> str:
        """What moved: "item", "set", or the first word of a rule's code: "prices", "box", "season" ..."""
        return self.code.partition(" ")[0] if self.section == "rules" else self.section[:-1]

    @property
    def key(self) -> str:
        """What moved and which of its facts: "item.retail"."""
        return f"{self.what}.{self.fact}"

    @property
    def kind(self) -> str:
        """What kind of cause it is."""
        if self.key == "set.":
            return "set gone" if self.old else "new set"
        if self.key == "set.contents":
            added, removed = self.exchanged
            return "contents" if bool(added) == bool(removed) else "option added" if added else "option removed"
        return KINDS.get(self.key) or KINDS.get(f"{self.what}.*") or self.what

    @property
    def exchanged(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Of a list, what was added and what was taken out."""
        old, new = self.old.split("\n"), self.new.split("\n")
        return tuple(one for one in new if one not in old), tuple(one for one in old if one not in new)

    @property
    def words(self) -> str:
        """Say it in a line."""
        if self.key == "item.retail":
            return f"{self.code} {self.old or '–'} → {self.new or '–'}"
        if self.key == "set.contents":
            added, removed = self.exchanged
            parts = [f"{', '.join(added)} added"] * bool(added) + [f"{', '.join(removed)} taken out"] * bool(removed)
            return f"{self.code}: {'; '.join(parts) or 'in another order'}"
        if not self.fact:
            return f"{self.code} is {'gone' if self.old else 'new'}"
        if self.what == "reduction":
            return f"{self.code}, {self.old or 'none'} → {self.new or 'none'}"
        subject = f"{self.code}, {self.fact.replace('_', ' ')}"
        if self.what == "wording" or self.fact.startswith("story"):  # known by their digests alone
            told = "written anew" if self.old and self.new else "new" if self.new else "gone"
        elif max(len(self.old), len(self.new)) > _SHORT or "\n" in self.old + self.new:
            told = ""
        else:
            told = f"{self.old or '–'} → {self.new or '–'}"
        return f"{subject} {told}".rstrip()


def movements(old: Facts, new: Facts) -> tuple[Movement, ...]:
    """Return every fact of items, sets and rules that differs, in the order of their codes."""
    return tuple(
        movement
        for section in ("items", "sets", "rules")
        for movement in _moved(section, getattr(old, section), getattr(new, section))
    )


def _moved(section: str, old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[Movement]:
    for code in sorted({**old, **new}):
        before, after = _facts(old.get(code)), _facts(new.get(code))
        if section != "rules" and not (before and after):
            yield Movement(section, code, "", before.get("name", "") or code * bool(before), code * bool(after))
            continue
        for fact in sorted({**before, **after}):
            if before.get(fact, "") != after.get(fact, ""):
                yield Movement(section, code, fact, before.get(fact, ""), after.get(fact, ""))


def _facts(line: str | None) -> dict[str, str]:
    """Return a line's facts as text, the members of a list one below the other."""
    facts: dict[str, Any] = json.loads(line) if line is not None else {}
    return {name: "\n".join(map(str, told)) if isinstance(told, list) else str(told) for name, told in facts.items()}


# Which facts of a row follow from which facts of the owner's files.
#
# The tables are the formulas read backwards: a price follows from retail prices, uplift and ending; a
# weight from weights; a text from nearly all. `movers` finds, for one row, what moved among those.

_PRICE: Final = (
    "item.retail set.uplift set.ending set.option_prices set.contents set.box "
    "prices.uplift prices.ending prices.option_prices reduction.prices"
)
_COST: Final = "item.cost set.contents set.box set.card prices.wage box.cost box.minutes box.fill card.cost"
_PIECES: Final = "set.contents set.box set.card set.carton"
_SHOWN: Final = (
    "item.on_hand item.status set.status box.on_hand card.on_hand stock.hold_back channel.hold_back channel.sold_out"
)
FOLLOWS: Final[dict[str, tuple[str, ...]]] = {
    group: tuple(keys.split())
    for group, keys in {
        "price": f"{_PRICE} prices.tax",
        "cost": _COST,
        "left": (
            f"{_PRICE} {_COST} set.wholesale prices.tax prices.wholesale prices.set_wholesale "
            "channel.fee channel.fixed_fee sheet.tiers sheet.display"
        ),
        "weight": f"item.weight {_PIECES} box.weight box.fill box.carton card.weight freight.*",
        "size": f"item.size {_PIECES} box.outside box.inside",
        "stock": f"{_SHOWN} {_PIECES} set.variants",
        "photo": "set.photos set.variants channel.photo_address channel.crops channel.limits",
        "date": "set.season season.* reduction.*",
        "shown": f"sheet.lines set. set.contents set.variants set.not_together {_SHOWN} item. channel.rows set.*",
        "text": (
            "item.name item.form item.scent item.net item.container item.ingredients item.cautions item.larger "
            "item.gtin item.status item.shelf_life set.* season.* shop.* channel.* wording.* reduction.*"
        ),
    }.items()
}
"""Groups of facts, and what they follow from: "item.retail", or "freight.*" for every fact of it."""
GROUPS: Final[dict[str, str]] = {
    name: group
    for group, names in {
        "price": "price lowestPrice highestPrice priorPrice suggestedRetail includedTax",
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
LINE_FACTS: Final = frozenset({"tierPrices", "displayPrice"})
"""Facts of lines for shops alone, which no feed has."""
MOST_NAMED: Final = 8
"""So many movements of one kind are told one by one; more are one cause together."""


@dataclass(frozen=True, slots=True)
class Where:
    """Where a row stands: its set, items, box and season, before and after."""

    sets: tuple[str, ...]
    items: tuple[str, ...]
    boxes: tuple[str, ...]
    seasons: tuple[str, ...]


class Reasons:
    """Finds what moved among all that a fact follows from."""

    def __init__(self, moved: Sequence[Movement], contents: Mapping[str, Sequence[str]]) -> None:
        """`contents` are the item codes that each set may hold, those of all its options."""
        self.moved = tuple(moved)
        self._contents = contents
        counts = Counter(one.key for one in moved)
        first = {one.key: at for at, one in reversed(list(enumerate(moved)))}
        self._told = [first[one.key] if counts[one.key] > MOST_NAMED else at for at, one in enumerate(moved)]
        self.counts = counts
        self._of_group = {group: self._in(keys) for group, keys in FOLLOWS.items()}
        self.movers = cache(self._movers)

    def _in(self, keys: tuple[str, ...]) -> tuple[int, ...]:
        """Return the movements of these keys; the whole of a set or item only where it is named."""
        wide = tuple(key[:-1] for key in keys if key.endswith("*"))
        return tuple(
            at
            for at, one in enumerate(self.moved)
            if one.key in keys or (one.fact and wide and one.key.startswith(wide))
        )

    def _movers(self, group: str, where: Where, *, by_offer: bool) -> tuple[int, ...]:
        """Return what moved for a fact of this group, as places in `moved`: of the row itself, else of its set.

        What differs from variant to variant follows from the row's own items; where none of those moved, and for
        what holds for the whole set, any item of the set counts.
        """
        if not self._of_group[group]:
            return ()
        if by_offer and (found := self._related(group, where, where.items)):
            return found
        wide = [code for one in where.sets for code in self._contents.get(one, ())]
        return self._related(group, where, (*where.items, *wide))

    def _related(self, group: str, where: Where, items: Sequence[str]) -> tuple[int, ...]:
        codes = {"item": items, "set": where.sets}
        named = {"box": where.boxes, "season": where.seasons, "reduction": where.sets}
        found = set()
        for at in self._of_group[group]:
            one = self.moved[at]
            if one.what in named:
                related = one.code.partition(" ")[2] in named[one.what]
            else:
                related = one.what not in codes or one.code in codes[one.what]
            if related:
                found.add(self._told[at])
        return tuple(sorted(found))


def is_by_offer(field: str) -> bool:
    """Whether a fact differs from variant to variant."""
    return field not in FIELDS or FIELDS[field].by_offer


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
