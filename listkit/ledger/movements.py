"""What moved in the owner's files between two records: one fact of one item, set or rule each, and how it is told."""

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from listkit.ledger.faults import damaged
from listkit.ledger.lines import LARGEST
from listkit.ledger.store import LEDGER, Facts

MOVED: Final = "moved"
"""The fact of an item that says how many pieces of it were made, sold and so on so far: "sold 140"."""
MADE_OF: Final = "made_of"
"""The fact of an item that says what its cost follows from, a line each: "price of olive oil: 5.20 a kg"."""
_ON_HAND: Final = "on_hand"
_COST: Final = "cost"
_FEW: Final = 4  # of what moved costs, told
_SHORT: Final = 40  # characters; a longer text is named, not shown
KINDS: Final = {
    "item.retail": "item price",
    "item.cost": "item cost",
    "item.weight": "item weight",
    "item.on_hand": "stock",
    "item.status": "item status",
    "item.": "item",
    "item.code": "code",
    "item.*": "item text",
    "set.code": "code",
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
    "allotted.*": "allotment",
    "freight.*": "freight",
    "rates.*": "postage",
    "box.*": "packaging",
    "card.*": "packaging",
    "season.*": "season",
    "reduction.*": "reduction",
    "day.*": "season",
    "channel.*": "channel",
    "sheet.tiers": "price rule",
    "sheet.display": "price rule",
    "sheet.display_sets": "price rule",
    "sheet.*": "line sheet",
    "shop.*": "shop",
    "wording.*": "text",
}

# Templates of files that are made for an owner once: no row of a place follows from them.
_SHAPES_NO_ROW: Final = ("new_shop/", "new_set/", "learnt/", "own_sheet/", "day/", "plan/", "desk/")


@dataclass(frozen=True, slots=True)
class Movement:
    """One fact that moved, as text. `fact` "" is the whole thing, which came (`old` is "") or went (`new` is "").

    `pieces` says what pieces on hand went to or came from: "sold 40", "made 12"; of a cost what it follows from.
    """

    section: str
    code: str
    fact: str
    old: str
    new: str
    pieces: tuple[str, ...] = ()

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
        """The kind of cause it is, a word or two for people and scripts."""
        if self.key == "set.":
            return "set gone" if self.old else "new set"
        if self.key == "set.contents":
            added, removed = self.exchanged
            return "contents" if bool(added) == bool(removed) else "option added" if added else "option removed"
        return KINDS.get(self.key) or KINDS.get(f"{self.what}.*") or self.what

    @property
    def exchanged(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The members of a list that were added, and those that were taken out."""
        old, new = self.old.split("\n"), self.new.split("\n")
        before, after = frozenset(old), frozenset(new)
        added, removed = [each for each in new if each not in before], [each for each in old if each not in after]
        return tuple(added), tuple(removed)

    @property
    def words(self) -> str:
        """One line for people: "OH-B01 7.50 → 8.00"."""
        if self.key == "item.retail":
            return f"{self.code} {self.old or '–'} → {self.new or '–'}"
        if self.key == "set.contents":
            added, removed = self.exchanged
            parts = [f"{', '.join(added)} added"] * bool(added) + [f"{', '.join(removed)} taken out"] * bool(removed)
            return f"{self.code}: {'; '.join(parts) or 'in another order'}"
        if self.fact in ("", "code"):
            return f"{self.old} is {self.new} now" if self.fact else f"{self.code} is {'gone' if self.old else 'new'}"
        if self.what == "reduction":
            return f"{self.code}, {self.old or 'none'} → {self.new or 'none'}"
        if self.what == "day":
            return self._turn
        subject = f"{self.code}, {self.fact.replace('_', ' ')}"
        if self.what == "wording" or self.fact.startswith("story"):  # known by their digests alone
            how = "written anew" if self.old and self.new else "new" if self.new else "gone"
        elif max(len(self.old), len(self.new)) > _SHORT or "\n" in self.old + self.new:
            how = ""
        else:
            how = f"{self.old or '–'} → {self.new or '–'}"
        return f"{subject} {how}".rstrip() + (f" ({counted_pieces((self,))})" if self.pieces else "")

    @property
    def _turn(self) -> str:
        """What a day brought: "spring begins"; no phase is on record while a set is on sale."""
        season, _, phase = (self.new or self.old).rpartition(": ")
        return f"{season} {'begins' if not self.new else 'has not begun' if phase == 'not yet' else 'ends'}"


def movements(old: Facts, new: Facts) -> tuple[Movement, ...]:
    """Return every fact of items, sets and rules that differs; codes and facts ascend in each.

    Raises:
        BlockedError: what is on record is not what listkit wrote.
    """
    try:
        return (
            *_moved("items", old.items, new.items),
            *_moved("sets", old.sets, new.sets),
            *_moved("rules", old.rules, new.rules),
        )
    except ValueError:  # what went and what a cost is made of are texts of lines with a number or a price in each
        raise damaged(LEDGER) from None


def _moved(section: str, old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[Movement]:
    for code in sorted({**old, **new}):
        before, after = _facts(old.get(code)), _facts(new.get(code))
        if section == "sets" and "item" in (before or after) and not (before and after):
            continue  # a piece that is listed alone comes and goes with its item, or by the rules
        if section != "rules" and not (before and after):
            yield Movement(section, code, "", before.get("name", "") or code * bool(before), code * bool(after))
            continue
        pieces = {
            _ON_HAND: tuple(_went(before.pop(MOVED, ""), after.pop(MOVED, ""))),
            _COST: tuple(_cost_moved(before.pop(MADE_OF, ""), after.pop(MADE_OF, ""))),
        }
        for fact in sorted({**before, **after}):
            shapes_rows = code != "wording" or not fact.startswith(_SHAPES_NO_ROW)
            if shapes_rows and before.get(fact, "") != after.get(fact, ""):
                went = pieces.get(fact, ())
                yield Movement(section, code, fact, before.get(fact, ""), after.get(fact, ""), pieces=went)


def _went(old: str, new: str) -> Iterator[str]:
    """Yield by how much each kind of "sold 140" grew; less than nothing was taken back."""
    before, after = (dict(line.rsplit(" ", 1) for line in text.split("\n") if line) for text in (old, new))
    for kind in {**after, **before}:
        if number := _pieces(after.get(kind, "0")) - _pieces(before.get(kind, "0")):
            yield f"{kind} {number}"


def _pieces(text: str) -> int:
    """Return how many pieces moved so far; raise ValueError where no shop can have as many, nor write their sum."""
    number = int(text)
    if abs(number) > LARGEST:
        raise ValueError("more pieces than there can be")
    return number


def _cost_moved(old: str, new: str) -> Iterator[str]:
    """Yield what differs of all that a cost follows from: "price of olive oil 5.20 a kg → 6.00 a kg"."""
    before, after = (dict(line.split(": ", 1) for line in text.split("\n") if line) for text in (old, new))
    for name in sorted({**before, **after}) if before and after else ():
        if before.get(name) != after.get(name):
            yield f"{name} {before.get(name) or '–'} → {after.get(name) or '–'}"


def counted_pieces(moved: Iterable[Movement]) -> str:
    """Return what all of these say of pieces: "40 pieces sold, 12 made"; of costs what moved them."""
    moved = tuple(moved)
    if reasons := dict.fromkeys(reason for each in moved if each.fact == _COST for reason in each.pieces):
        return "; ".join([*reasons][:_FEW])
    sums: Counter[str] = Counter()
    for kind, number in (piece.rsplit(" ", 1) for movement in moved for piece in movement.pieces):
        sums[kind] += int(number)
    return ", ".join(f"{number} piece{'s' * (number != 1)} {kind}" for kind, number in sums.items() if number)


def _facts(line: str | None) -> dict[str, str]:
    """Return a line's facts as text, members of a list on a line each."""
    facts: dict[str, Any] = json.loads(line) if line is not None else {}
    return {name: fact_text(value) for name, value in facts.items()}


def fact_text(value: Any) -> str:  # noqa: ANN401 (any fact)
    """Return a fact as text, members of a list on a line each."""
    return "\n".join(map(str, value)) if isinstance(value, list) else str(value)
