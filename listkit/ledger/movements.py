"""What moved in the owner's own files between two records: the possible causes of changes.

A movement is one fact of one item, set or rule, as text. Its kind is a word or two for people and
scripts, its words say it in a line: "OH-B01 7.50 → 8.00".
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from listkit.ledger.snapshot import Facts

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
