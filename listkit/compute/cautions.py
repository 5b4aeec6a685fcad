"""The cautions of a piece: those that its owner names, and those that its form and ingredients ask for.

Pure: the same row gives the same keys. What a rule chooses is printed even when the row does not name it, unless the
owner silences it and says why. listkit reminds and certifies nothing: local rules decide.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Final

from listkit.compute.caution_rules import BATHS, FIZZ, FLAMES, FOAMING, RULES, SALTS, SOAPS, THINGS, TOYS, Rule
from listkit.model.item import Item
from listkit.model.labelling import Silenced

ADULT: Final = 18 * 12
"""Months from which goods are for adults only."""
CHILD: Final = 13 * 12
"""Months below which goods are children's: designed for twelve years or younger (16 CFR 1200.2)."""
UNDER_THREE: Final = 36
"""Months below which a small part is forbidden (16 CFR 1501.2)."""
FOAMING_SOURCE: Final = "21 CFR 740.17"
FOAMS: Final = ("foaming-bath", "foaming-bath-child")
_FOAM: Final = re.compile(FOAMING, re.IGNORECASE)
_FOAM_BY_NAME: Final = ("bubble", "foam", "mousse", "schaum", "espuma", "schiuma")

_NEVER_FOAM: Final = (*SOAPS, *FLAMES, *SALTS, *TOYS, *THINGS)


@dataclass(frozen=True, slots=True)
class Due:
    """A caution that a piece asks for: its key, what in the row asks for it, whose rule it is."""

    key: str
    because: str
    source: str
    grave: bool = False


@lru_cache(maxsize=8192)
def due(item: Item) -> tuple[Due, ...]:
    """Return the cautions that a piece asks for by rule, whatever its row names; grave ones first."""
    form, name = _folded(item.form), _folded(f"{item.name} {item.form}")
    found = [one for rule in RULES if (one := _by_rule(rule, item, name if rule.by_name else form)) is not None]
    foam = _foam(item, form)
    found += [foam] if foam else []
    return tuple(sorted(found, key=lambda one: not one.grave))


def entries_of(item: Item, silenced: tuple[Silenced, ...] = ()) -> tuple[str, ...]:
    """Return all that is printed with a piece: keys and the owner's own sentences.

    First what its row names, in its order, then what the rules add. A silenced key is left out, if a reason is given.
    """
    quiet = {one.caution for one in silenced if one.reason.strip() and (not one.items or item.code in one.items)}
    chosen = dict.fromkeys((*item.cautions, *(one.key for one in due(item) if not _told(one.key, item.cautions))))
    return tuple(entry for entry in chosen if entry not in quiet)


def foam_unknown(item: Item) -> bool:
    """Whether a piece goes into the bath and nothing tells whether it foams: neither its row nor its ingredients."""
    return item.foams is None and not item.ingredients and _goes_in(item, _folded(item.form))


def too_young(item: Item, entries: tuple[str, ...]) -> str:
    """Return the key of a caution that cannot be for the age stated; "" where there is none."""
    if item.from_age is None or item.from_age >= UNDER_THREE:
        return ""
    return next((key for key in ("small-parts", "essential-oils") if key in entries), "")


def _told(key: str, named: tuple[str, ...]) -> bool:
    """Whether a row says a caution in another way: of the two for foam, the one that the owner names stands."""
    return key in FOAMS and any(other in named for other in FOAMS)


def _by_rule(rule: Rule, item: Item, text: str) -> Due | None:
    kind = _pattern(rule.kinds).search(text) if rule.kinds else None
    if (rule.kinds and kind is None) or (rule.unless and _pattern(rule.unless).search(text)):
        return None
    inside = rule.contains.search(item.ingredients) if rule.contains else None
    if rule.contains and inside is None:
        return None
    because = f'its ingredient "{_ingredient(item, inside.start())}"' if inside else f'its form "{item.form}"'
    return Due(rule.key, because, rule.source, rule.grave)


def _foam(item: Item, form: str) -> Due | None:
    """What goes into the bath and foams (21 CFR 740.17(a)): by the owner's word, else by a foaming agent in it."""
    agent = _FOAM.search(item.ingredients)
    made_to = bool(_pattern(_FOAM_BY_NAME).search(form)) and not item.ingredients
    if not _goes_in(item, form) or not (item.foams or (item.foams is None and (agent or made_to))):
        return None
    if item.from_age is not None and item.from_age >= ADULT:
        return Due("adults-only", "it foams and is for adults", FOAMING_SOURCE, grave=True)
    key = "foaming-bath-child" if item.from_age is not None and item.from_age < CHILD else "foaming-bath"
    because = f'its ingredient "{_ingredient(item, agent.start())}"' if agent else "that it foams in the bath"
    return Due(key, because, FOAMING_SOURCE, grave=True)


def _goes_in(item: Item, form: str) -> bool:
    """Whether a piece is added to the bath: a bath bomb is, a soap for the bath is not."""
    bath = _pattern((*BATHS, *FIZZ)).search(form)
    return bool(bath or item.foams) and not _pattern(_NEVER_FOAM).search(form)


def _ingredient(item: Item, at: int) -> str:
    """Return the whole ingredient around a find."""
    start = max(item.ingredients.rfind(sign, 0, at) for sign in ",;")
    return re.split("[,;]", item.ingredients[start + 1 :], maxsplit=1)[0].strip()


@cache
def _pattern(words: tuple[str, ...]) -> re.Pattern[str]:
    whole = "|".join(
        rf"{re.escape(_folded(word[1:]))}\b" if word.startswith("=") else re.escape(_folded(word)) for word in words
    )
    return re.compile(rf"\b(?:{whole})")


@lru_cache(maxsize=8192)
def _folded(text: str) -> str:
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in decomposed if not unicodedata.combining(letter))
