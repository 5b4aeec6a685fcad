"""Checks of codes: options that cannot be told apart, GTINs, and codes that collide or that spreadsheets spoil."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Final

from listkit.check.alike import folded, listed, nearly_same, words_of
from listkit.check.context import CheckContext
from listkit.check.gtins import Labelled, internal, labelled, only_piece
from listkit.check.places import item_place, note_finder, set_place
from listkit.check.spreadsheet import made_of
from listkit.compute.build import option_says
from listkit.compute.catalog import SetFacts, Variant
from listkit.listing.listings import Listings
from listkit.model.gift_set import Slot
from listkit.problem import FieldError, Place, Problem
from listkit.units.identifiers import in_fourteen, parse_gtin

_MOST_COMPARED: Final = 200
"""Options of one slot that are compared with each other; a slot of more is no choice a buyer can make."""


def option_twins(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Two options that read alike leave the buyer without a choice."""
    language = listings.catalog.shop.settings.language
    for facts in listings.catalog.sets:
        for index, slot, says in _slots(facts):
            first: dict[str, int] = {}
            for at, text in enumerate(says):
                other = first.setdefault(folded(text, language), at)
                if other != at:
                    message = f'in "{slot.slot}" the options "{says[other]}" and "{text}" read alike.'
                    place = set_place(facts, "contents", index, "choose", at)
                    yield Problem(place, "option-twins", message, 'Give each its own words with says = "...".')


def options_alike(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Two options that differ in a letter or two are probably one of them a slip."""
    language, most = listings.catalog.shop.settings.language, int(context.thresholds["options-alike"])
    for facts in listings.catalog.sets:
        for index, slot, says in _slots(facts):
            read = [words_of(folded(text, language)) for text in says[:_MOST_COMPARED]]
            for at, words in enumerate(read):
                near = next((i for i in range(at) if nearly_same(read[i], words, most)), None)
                if near is not None:
                    message = f'in "{slot.slot}" the options "{says[near]}" and "{says[at]}" are nearly the same.'
                    place = set_place(facts, "contents", index, "choose", at)
                    yield Problem(place, "options-alike", message, "Is one of them a slip?")


def _slots(facts: SetFacts) -> Iterator[tuple[int, Slot, list[str]]]:
    """Yield each slot with its place in the contents and what its options read."""
    items = {item.code: item for item in facts.items}
    for index, entry in enumerate(facts.source.gift_set.contents):
        if isinstance(entry, Slot):
            yield index, entry, [option_says(option, items[option.item]) for option in entry.choose]


def gtin_wrong(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A GTIN has one of four lengths and a check digit; spreadsheets take zeros and digits from it."""
    told: set[Place] = set()
    for one in labelled(listings.catalog):
        try:
            parse_gtin(one.gtin)
        except FieldError as fault:
            if one.place not in told:  # one line may speak of several variants
                yield Problem(one.place, "gtin-wrong", fault.message, fault.hint)
            told.add(one.place)


def gtin_shared(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A till knows a thing by its GTIN alone; a set has its own (GS1 GTIN Management Standard)."""
    carried: dict[str, list[Labelled]] = defaultdict(list)
    for one in _right_ones(listings):
        carried[in_fourteen(one.gtin)].append(one)
    for group in carried.values():
        owners = list(dict.fromkeys(one.owner for one in group))
        if len(owners) > 1:
            message = f"{group[0].gtin} stands for {listed(owners)}."
            place = next((one.place for one in reversed(group) if one.owner != owners[0]), group[-1].place)
            yield Problem(place, "gtin-shared", message, "Each needs a GTIN of its own; an empty one is fine.")


def gtin_internal(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Numbers for use within a company or region mean something else elsewhere."""
    shown = {listing.facts.code for listing in listings if "feed" in listing.channel.make}
    feeds = [facts for facts in listings.catalog.sets if facts.code in shown]
    carried = [(facts, one) for facts in feeds for one in facts.variants if one.gtin]
    public = {item.code if (item := only_piece(facts, one)) else one.code for facts, one in carried}
    told: set[Place] = set()
    for one in _right_ones(listings):
        if one.owner in public and internal(one.gtin) and one.place not in told:
            told.add(one.place)
            message = f"{one.gtin} is a number for use within one company or region, and goes into a public feed."
            yield Problem(one.place, "gtin-internal", message, "Leave it empty, or write a GTIN of your own.")


def _right_ones(listings: Listings) -> Iterator[Labelled]:
    for one in labelled(listings.catalog):
        try:
            parse_gtin(one.gtin)
        except FieldError:
            continue
        yield one


def code_unsafe(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A file is opened with a spreadsheet sooner or later, and saved again."""
    catalog = listings.catalog
    language = catalog.shop.settings.language
    hint = "Write a code with letters that are no month."
    for item in catalog.shop.items:
        if made := made_of(item.code, language):
            place = item_place(catalog.shop, item, "code")
            yield Problem(place, "code-unsafe", f'a spreadsheet makes {made} of "{item.code}".', hint)
    for facts in catalog.sets:
        made = made_of(facts.code, language)
        spoilt = [facts.code] if made else [one.code for one in facts.variants if made_of(one.code, language)]
        if spoilt:
            message = f'a spreadsheet makes {made_of(spoilt[0], language)} of "{spoilt[0]}"'
            more = f", and spoils {len(spoilt) - 1} more." if len(spoilt) > 1 else "."
            yield Problem(set_place(facts, "code"), "code-unsafe", message + more, hint)


def code_twice(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A variant's code names it alone in the whole shop; told once a set.

    Codes that are stated in the files were compared when these were read; here are those that are made.
    """
    taken = {item.code: f"item {item.code}" for item in listings.catalog.shop.items}
    made: dict[str, SetFacts] = {}
    for facts in listings.catalog.sets:
        taken.setdefault(facts.code, f"set {facts.name}")
        for code in _stated(facts):
            taken.setdefault(code, f"a variant of {facts.name}")
    for facts in listings.catalog.sets:
        stated, clashes = _stated(facts), dict[str, str]()
        for one in facts.variants:
            if one.code in stated or (not one.choices and one.code == facts.code):
                continue  # a set without choices is its one variant
            other = made.setdefault(one.code, facts)
            if one.code in taken or other is not facts:
                clashes.setdefault(one.code, taken.get(one.code, f"a variant of {other.name}"))
        yield from _clash(facts, clashes)
        yield from _within(facts)


def _stated(facts: SetFacts) -> frozenset[str]:
    return frozenset(note.code for note in facts.source.gift_set.variants if note.code)


def _clash(facts: SetFacts, clashes: dict[str, str]) -> Iterator[Problem]:
    for code, other in list(clashes.items())[:1]:
        more = f", and {len(clashes) - 1} more are taken" if len(clashes) > 1 else ""
        message = f'the variant code "{code}" is that of {other} too{more}.'
        hint = 'Write another code, or another part = "..." for the option.'
        yield Problem(set_place(facts, "code"), "code-twice", message, hint)


def _within(facts: SetFacts) -> Iterator[Problem]:
    """Two variants of one set with one code; not where an option is listed twice, which option-twins tells."""
    first: dict[str, Variant] = {}
    for one in facts.variants:
        other = first.setdefault(one.code, one)
        if other is one:
            continue
        pair = [(a, b) for a, b in zip(other.choices, one.choices, strict=True) if a.item.code != b.item.code]
        for a, b in pair[:1]:
            message = f'two variants have the code "{one.code}": {a.slot} is {a.item.code} or {b.item.code}.'
            key = note_finder(facts.source.gift_set)(one)
            place = set_place(facts, *(key or ("contents",)))
            yield Problem(place, "code-twice", message, 'Write another part = "..." for one of the options.')
            return
