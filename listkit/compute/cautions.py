"""The cautions of a piece: those that its owner names, and those that its form and ingredients ask for.

Pure: the same row gives the same keys. What a rule chooses is printed even when the row does not name it, unless the
owner silences it and says why. listkit reminds and certifies nothing: local rules decide.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from listkit.compute.kinds import (
    BABIES,
    BATHS,
    FIZZ,
    FLAMES,
    FOR_SKIN,
    HAIR_DYES,
    HOLDS,
    INCENSE,
    KINDS,
    LEAVE_ON,
    LIKE_FOOD,
    LIPS,
    MATCHES,
    SACHETS,
    SALTS,
    SCENTS_A_ROOM,
    SCRUBS,
    SOAPS,
    SPRAYS,
    TANNING,
    THINGS,
    TOYS,
    WAX_MELTS,
    folded,
    is_vessel,
    pattern,
)
from listkit.compute.materials import COLOURING, ESSENTIAL, FOAMING, MELTING, NUTS, PERFUME, SPIRIT, first_of
from listkit.model.item import Item, NoIngredients
from listkit.model.labels import Silenced
from listkit.problem import quoted
from listkit.units.net import Measure

# Which cautions a piece asks for, by what kind of thing it is, what is in it and whom it is for.
#
# One table, RULES, with the source of each line. The rules choose and remind; what a label must say is decided by the
# rules in force where the goods are sold, and where it matters by a licensed professional.


@dataclass(frozen=True, slots=True)
class CautionRule:
    """One line of the table: the key of a caution, and when a piece asks for it.

    `kinds` are words of its form, one of which it has; `unless` words that it has not; `by_name` looks in its name too.
    `contains` are kinds of material, one of which is in its ingredients. What is empty does not matter. A `grave` one
    is about fire, children or prescribed words: the owner names it or silences it, and unless silenced it is printed
    in any case.
    """

    key: str
    source: str
    kinds: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    contains: tuple[str, ...] = ()
    by_name: bool = False
    grave: bool = False


_COMMON: Final = "common practice, no source"
_SKIN: Final = (*SOAPS, *SCRUBS, *BATHS, *FIZZ, *LEAVE_ON)
_FRAGRANT: Final = (PERFUME, ESSENTIAL)
_NOT_SKIN: Final = (*LIPS, *FLAMES, *MATCHES, *SCENTS_A_ROOM, *TOYS, *THINGS)
_TUB: Final = (*BATHS, *FIZZ)
# A foaming agent in what is added to a bath is looked for apart, because a yes or no of the owner goes before it.
RULES: Final = (
    CautionRule(
        "candle",
        "ASTM F2058-07(2021) and EN 15494:2019, both voluntary",
        kinds=FLAMES,
        unless=HOLDS,
        grave=True,
    ),
    CautionRule("wax-melt", _COMMON, kinds=WAX_MELTS, unless=(*FLAMES, *HOLDS), grave=True),
    CautionRule("incense", _COMMON, kinds=INCENSE, unless=HOLDS, grave=True),
    CautionRule("matches", _COMMON, kinds=MATCHES, unless=HOLDS, grave=True),
    CautionRule(
        "no-sunscreen",
        "21 CFR 740.19",
        kinds=TANNING,
        unless=(*SOAPS, *SCRUBS, *BATHS, *FIZZ, *_NOT_SKIN),
        by_name=True,
        grave=True,
    ),
    CautionRule("hair-dye", "21 CFR 73.2190(d) for henna", kinds=HAIR_DYES, unless=LIPS),
    CautionRule("small-parts", "16 CFR 1501.4", kinds=TOYS, grave=True),
    CautionRule("not-food", "Regulation (EU) 2023/988, Article 6, from memory", kinds=LIKE_FOOD, by_name=True),
    CautionRule("aerosol", "21 CFR 740.11(a), from memory", kinds=("aerosol", "aérosol", "spraydose"), grave=True),
    CautionRule("flammable", _COMMON, kinds=SPRAYS, contains=(SPIRIT,), grave=True),
    CautionRule("lip-use", _COMMON, kinds=LIPS),
    CautionRule("external-use", _COMMON, kinds=(*_SKIN, *HAIR_DYES, *TANNING), unless=_NOT_SKIN),
    CautionRule("room-only", _COMMON, kinds=SCENTS_A_ROOM, unless=FLAMES),
    CautionRule("avoid-eyes", _COMMON, kinds=(*SOAPS, *SCRUBS, *SALTS, *FIZZ), unless=_NOT_SKIN),
    CautionRule("slippery-tub", _COMMON, kinds=(*SCRUBS, *BATHS, *FIZZ), unless=(*SOAPS, *_NOT_SKIN)),
    CautionRule("keep-dry", _COMMON, kinds=(*SALTS, *FIZZ, *SCRUBS, *SACHETS), unless=(*SOAPS, *_NOT_SKIN)),
    CautionRule("patch-test", _COMMON, kinds=(*SCRUBS, *LEAVE_ON), unless=(*LIPS, *_TUB), contains=_FRAGRANT),
    CautionRule("keep-cool", _COMMON, kinds=(*LEAVE_ON, *LIPS, *FLAMES), contains=(MELTING,)),
    CautionRule("stains", _COMMON, kinds=_TUB, unless=(*SOAPS, *_NOT_SKIN), contains=(COLOURING,)),
    CautionRule("keep-from-children", _COMMON, kinds=(*FLAMES, *SALTS, *FIZZ), unless=(*SOAPS, *THINGS)),
    CautionRule(
        "essential-oils",
        "US Food and Drug Administration, Aromatherapy",
        unless=FLAMES,
        contains=(ESSENTIAL,),
    ),
    CautionRule("nut-oils", "informative only", unless=FLAMES, contains=(NUTS,)),
)


_PIECES: Final = 32_768
"""What is kept of pieces, for more than a table may hold: texts, labels and checks ask for the same ones in turn."""
ADULT: Final = 18 * 12
"""Months from which goods are for adults only."""
CHILD: Final = 13 * 12
"""Months below which goods are children's: designed for twelve years or younger (16 CFR 1200.2, from memory)."""
UNDER_THREE: Final = 36
"""Months below which a small part is forbidden (16 CFR 1501.2(a))."""
FOAMING_SOURCE: Final = "21 CFR 740.17"
FOAMS: Final = ("foaming-bath", "foaming-bath-child")
_SAID_BY: Final = {
    "keep-from-children": frozenset(
        ("candle", "wax-melt", "incense", "matches", "room-only", "aerosol", "adults-only", *FOAMS)
    ),
    "room-only": frozenset(("wax-melt", "incense")),
}
"""Keys whose sentence says nothing beside those of others, which keep children and pets away themselves."""
USUAL: Final = frozenset(
    (*(rule.key for rule in RULES), *FOAMS, "adults-only", "not-tested", "from-years", "from-months")
)
"""The keys that every file of cautions has a sentence for."""
_FOAM_BY_NAME: Final = ("bubble", "foam", "moussant", "schaumb", "badeschaum", "espuma", "bagnoschiuma")

_NEVER_FOAM: Final = (*SOAPS, *FLAMES, *MATCHES, *SCENTS_A_ROOM, *SALTS, *TOYS, *THINGS)


@dataclass(frozen=True, slots=True)
class Due:
    """A caution that a piece asks for: its key, what in the row asks for it, whose rule it is."""

    key: str
    because: str
    source: str
    grave: bool = False


def due(item: Item) -> tuple[Due, ...]:
    """Return the cautions that a piece asks for by rule, whatever its row names; grave ones first."""
    called = _called(f"{item.name} {item.form}")
    return _due(
        item.form, "" if item.form else item.name, called, item.ingredients, foams=item.foams, from_age=item.from_age
    )


@lru_cache(maxsize=_PIECES)
def _called(name: str) -> tuple[str, ...]:
    """Return the keys of the rules that go by names too, of those that ask for something by this one."""
    called = folded(name)
    return tuple(rule.key for rule in RULES if rule.by_name and _is_of(rule.kinds, rule.unless, called))


@lru_cache(maxsize=_PIECES)
def _due(
    form: str, name: str, called: tuple[str, ...], ingredients: str, *, foams: bool | None, from_age: int | None
) -> tuple[Due, ...]:
    """Return what a piece asks for by its form, or its name where it has none, by how it is called and what is in it.

    Most pieces have these in common with others, so that it is found out once for all of them.
    """
    kind = folded(form or name)
    of_kind = {rule.key for rule in RULES if not rule.by_name and _is_of(rule.kinds, rule.unless, kind)}
    asked = [_by_rule(rule, form, ingredients) for rule in RULES if rule.key in of_kind.union(called)]
    foam = _foam(kind, ingredients, foams, from_age)
    if foam and "avoid-eyes" not in of_kind:  # the prescribed words speak of skin alone, and foam gets into eyes
        asked.append(Due("avoid-eyes", foam.because, _COMMON))
    # Its words say how near children may come, so nothing else of theirs is said beside.
    kept = (caution for caution in asked if caution and not (foam and caution.key == "keep-from-children"))
    return tuple(sorted((*kept, *filter(None, (foam,))), key=lambda caution: not caution.grave))


@dataclass(frozen=True, slots=True)
class Silences:
    """The cautions that are silenced with a reason: of every item, and of single ones by their codes.

    With `own_words` sentences may be the owner's, of which nobody knows whether they keep children away.
    """

    everywhere: frozenset[str] = frozenset()
    of_item: Mapping[str, frozenset[str]] = field(default_factory=dict)
    own_words: bool = False


def silences_of(silenced: Iterable[Silenced], files: Iterable[str] = ()) -> Silences:
    """Return what is silenced by the items that it is left off; without a reason nothing is.

    `files` are the owner's own among the templates.
    """
    everywhere, of_item = set[str](), defaultdict[str, set[str]](set)
    for silence in silenced:
        if silence.reason.strip() and not silence.items:
            everywhere.add(silence.caution)
        for code in silence.items if silence.reason.strip() else ():
            of_item[code].add(silence.caution)
    by_code = {code: frozenset(keys) for code, keys in of_item.items()}
    return Silences(frozenset(everywhere), by_code, own_words=any(file.startswith("cautions/") for file in files))


_NO_SILENCES: Final = Silences()


def entries_of(item: Item, silences: Silences = _NO_SILENCES) -> tuple[str, ...]:
    """Return all that is printed with a piece: keys and the owner's own sentences.

    First what its row names, in its order, then what the rules add, and the age that it states. A silenced key is left
    out, if a reason is given, and one beside a longer one of ours that says the same itself.
    """
    chosen = dict.fromkeys((*item.cautions, *(one.key for one in due(item) if not _told(one.key, item.cautions))))
    quiet = silences.of_item.get(item.code, frozenset()) | silences.everywhere
    kept = tuple(entry for entry in (*chosen, *_age(item, chosen)) if entry.partition("=")[0] not in quiet)
    if silences.own_words:
        return kept
    return tuple(entry for entry in kept if _SAID_BY.get(entry, frozenset()).isdisjoint(kept))


def _age(item: Item, beside: Iterable[str]) -> tuple[str, ...]:
    """Return the entry of the age that a row states, as "from-years=3", where no sentence beside it says as much."""
    months = item.from_age or 0
    said = "adults-only" if months == ADULT else "small-parts" if months == UNDER_THREE else ""
    if not months or said in beside:
        return ()
    return (f"from-years={months // 12}" if months >= 24 and not months % 12 else f"from-months={months}",)


def _kind_text(item: Item) -> str:
    """Return what tells what kind of thing a piece is: its form, without one its name."""
    return folded(item.form or item.name)


_OTHER_USES: Final = (*THINGS, *FLAMES, *MATCHES, *SCENTS_A_ROOM)


def is_for_the_skin(item: Item) -> bool:
    """Whether a sign says that a piece is a cosmetic: its form, what it is filled with, ingredients, a caution.

    A bowl, a cloth and a candle have none of them, whether or not a list names them.
    """
    if isinstance(item.ingredients, NoIngredients):
        return False
    other, empty, says = _skin_words(item.form, item.name)
    filled = not empty and item.net is not None and item.net.measure in (Measure.MASS, Measure.VOLUME)
    return not other and (filled or bool(item.ingredients or item.cautions) or says)


@lru_cache(maxsize=_PIECES)  # a piece is asked for in each set that holds it, and by several rules
def _skin_words(form: str, name: str) -> tuple[bool, bool, bool]:
    """Return whether words are of another use than the skin's, of something to be filled, of the skin."""
    text = folded(f"{form} {name}")
    other, says = (bool(pattern(words).search(text)) for words in (_OTHER_USES, FOR_SKIN))
    return other, is_vessel(form or name), says


def unknown_kind(item: Item) -> tuple[str, ...]:
    """Return the words of a form that tells no kind of thing; () where it tells one, or there is none."""
    form = folded(item.form)
    return () if pattern(KINDS).search(form) or is_vessel(form) else tuple(re.findall(r"[^\W\d_]+", form))


def foam_unknown(item: Item) -> bool:
    """Whether a piece goes into the bath and nothing tells whether it foams: neither its row nor its ingredients."""
    return item.foams is None and not item.ingredients and _goes_in(item.foams, _kind_text(item))


def too_young(item: Item, entries: tuple[str, ...]) -> str:
    """Return the key of a caution that cannot be for the age stated; "" where there is none."""
    if not is_for_the_youngest(item):
        return ""
    return next((key for key in ("small-parts", "essential-oils") if key in entries), "")


def is_for_the_youngest(item: Item) -> bool:
    """Whether a piece is for children under three: by the age that its row states, else by how it is called."""
    return said_for_babies(item) if item.from_age is None else item.from_age < UNDER_THREE


def dyes_hair(item: Item) -> bool:
    """Whether a piece is a hair dye other than plain henna."""
    text = folded(f"{item.form} {item.name} {item.ingredients}")
    dye = pattern(HAIR_DYES).search(_kind_text(item)) and not pattern(LIPS).search(_kind_text(item))
    return bool(dye) and not re.search(r"\bhenna\b|\bhenne\b|\blawsonia\b", text)


def said_for_babies(item: Item) -> bool:
    """Whether a piece is called as something for babies."""
    return bool(pattern(BABIES).search(folded(f"{item.name} {item.form}")))


def scents_the_air(item: Item) -> bool:
    """Whether a piece is a scented mixture that is burned, melted or stood in a room: a candle of plain wax is none."""
    text = _kind_text(item)
    if pattern((*HOLDS, *THINGS)).search(text):
        return False
    if pattern(SCENTS_A_ROOM).search(text) or not pattern(FLAMES).search(text):
        return bool(pattern(SCENTS_A_ROOM).search(text))
    inside = any(first_of(kind, item.ingredients) for kind in _FRAGRANT)
    return inside or (bool(item.scent) and not item.ingredients)  # "plain beeswax" is called a scent as well


def _told(key: str, named: tuple[str, ...]) -> bool:
    """Whether a row says a caution in another way: of the two for foam, the one that the owner names stands."""
    return key in FOAMS and any(other in named for other in FOAMS)


def _by_rule(rule: CautionRule, form: str, ingredients: str) -> Due | None:
    inside = next(filter(None, (first_of(kind, ingredients) for kind in rule.contains)), "")
    if rule.contains and not inside:
        return None
    because = f"its ingredient {quoted(inside)}" if inside else f"its form {quoted(form)}" if form else "its name"
    return Due(rule.key, because, rule.source, rule.grave)


@lru_cache(maxsize=65_536)  # many pieces have one form
def _is_of(kinds: tuple[str, ...], unless: tuple[str, ...], text: str) -> bool:
    """Whether a text names one of some kinds, where there are any, and none of those that they are not."""
    return bool(not kinds or pattern(kinds).search(text)) and not (unless and pattern(unless).search(text))


def _foam(kind: str, ingredients: str, foams: bool | None, from_age: int | None) -> Due | None:
    """What goes into the bath and foams (21 CFR 740.17(a)): by the owner's word, else by its form or what is in it."""
    agent = first_of(FOAMING, ingredients)
    made_to = pattern(_FOAM_BY_NAME).search(kind)
    if not _goes_in(foams, kind) or not (foams or (foams is None and (agent or made_to))):
        return None
    if from_age is not None and from_age >= ADULT:
        return Due("adults-only", "it foams and is for adults", FOAMING_SOURCE, grave=True)
    key = "foaming-bath-child" if from_age is not None and from_age < CHILD else "foaming-bath"
    because = f"its ingredient {quoted(agent)}" if agent else "that it foams in the bath"
    return Due(key, because, FOAMING_SOURCE, grave=True)


def _goes_in(foams: bool | None, kind: str) -> bool:
    """Whether a piece is added to the bath: a bath bomb is, a soap for the bath is not."""
    bath = pattern((*BATHS, *FIZZ, *_FOAM_BY_NAME)).search(kind)
    return bool(foams or (bath and not pattern(_NEVER_FOAM).search(kind)))
