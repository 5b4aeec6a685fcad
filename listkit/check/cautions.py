"""Checks of cautions and ingredients: unknown keys, what a piece asks for and its row leaves out, ages, lists.

What the rules choose is printed whether a row names it or not; these checks have the owner look at it. They remind:
local rules decide what must be said, and where it matters a licensed professional.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches
from functools import lru_cache
from typing import Final

from listkit import bounds
from listkit.check.alike import distance, letters_of, listed
from listkit.check.places import LIKE_EU, SHOP, CheckContext, item_place, offered_alone_too, sells_like_eu
from listkit.compute.allergens import FORBIDDEN
from listkit.compute.cautions import (
    FOAMS,
    KINDS,
    THINGS,
    Due,
    Silences,
    due,
    entries_of,
    foam_unknown,
    is_for_the_skin,
    silences_of,
    too_young,
    unknown_kind,
)
from listkit.compute.ingredients import (
    all_allergens,
    composition,
    folded_ingredient,
    is_in_order,
    out_of_order,
    unbalanced,
    unlisted,
)
from listkit.compute.materials import (
    ESSENTIAL,
    FOAMING,
    NUTS,
    SPIRIT,
    folded_name,
    kinds_of,
    label_names,
    latin_names,
    split_ingredients,
)
from listkit.compute.variants import full_name
from listkit.listing.declared import parse_cautions
from listkit.listing.listings import Listings
from listkit.listing.words import base_language, paths_of
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.problem import Level, Place, Problem

_SHOWN: Final = 3
"""Codes that a message names; the others are counted."""
_LONGEST: Final = 60
"""Letters of a strange word that are compared."""
_FOLDER: Final = "cautions"
_SHORTEST, _LONG = 4, 8  # letters of a word that may be a slip of a kind of thing, and of one with two slips


def cautions(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Keys without a sentence; what a piece asks for and is not named; silence without a reason; what is not for so
    young an age.
    """
    shop = listings.catalog.shop
    known = _keys(shop, shop.settings.language)
    if not known:
        return  # the file of the language is missing or broken, which is told where it is read
    silences = silences_of(shop.settings.silenced)
    yield from _unknown(shop, known)
    yield from _untranslated(shop, known, silences)
    yield from _silenced(shop, known)
    yield from _missing(shop, known, silences)
    yield from _young(shop, silences)


def on_sale(shop: Shop) -> Iterator[Item]:
    """Return the items that are not closed."""
    return (item for item in shop.items if item.status is not Status.CLOSED)


def _instead(word: str, known: Collection[str], otherwise: str) -> str:
    """Return the hint that names what was probably meant."""
    near = get_close_matches(word.casefold()[:_LONGEST], sorted(known), n=1) or [
        key for key in known if key.casefold() == word.casefold()
    ]
    return f'Write "{near[0]}".' if near else otherwise


def _keys(shop: Shop, language: str) -> frozenset[str]:
    """Return the keys that have a sentence in a language."""
    texts = dict(shop.templates.texts)
    read, _ = parse_cautions(tuple((path, texts[path]) for path in paths_of(_FOLDER, language) if path in texts))
    return frozenset(dict(read.sentences)) if read else frozenset()


def _unknown(shop: Shop, known: frozenset[str]) -> Iterator[Problem]:
    for item in on_sale(shop):
        for entry in (entry for entry in item.cautions if " " not in entry and entry not in known):
            place = item_place(shop, item, "cautions")
            hint = _instead(entry, known, f"Write one of {', '.join(sorted(known))}, or a whole sentence of your own.")
            yield Problem(place, "unknown-code", f'there is no caution "{entry}".', hint)


def _untranslated(shop: Shop, known: frozenset[str], silences: Silences) -> Iterator[Problem]:
    """Yield keys that are printed and have no sentence, once a language: of channels, of labels and the shop's own.

    Keys that rows name and nobody knows are told of each row instead.
    """
    printed = {entry for item in on_sale(shop) for entry in entries_of(item, silences)}
    by_rule = {caution.key for item in on_sale(shop) for caution in due(item)} & printed
    spoken = {shop.settings.language, *(channel.language or shop.settings.language for channel in shop.channels)}
    spoken |= set(shop.settings.labels.languages if shop.settings.labels else ())
    for language in sorted(spoken):
        there = _keys(shop, language)
        own = base_language(language) == base_language(shop.settings.language)
        lacking = sorted((by_rule if own else by_rule | (printed & known)) - there)
        if there and lacking:
            place = Place(f"templates/{paths_of(_FOLDER, language)[0]}")
            message = f'there is no sentence in "{language}" for {listed(lacking)}.'
            hint = "Write each as a table with its text, after those that are there."
            hint = hint if own else "Write each after the one in your own language."
            yield Problem(place, "language-missing", message, hint)


def _silenced(shop: Shop, known: frozenset[str]) -> Iterator[Problem]:
    codes = {item.code: item for item in shop.items}
    asking: dict[str, set[str]] = defaultdict(set)  # by the key of a caution the items that print it
    for code, entry in ((each.code, entry) for each in shop.items for entry in entries_of(each)):
        asking[entry].add(code)
    looks = bounds.NEAR_COMPARED // (len(codes) + 1)  # for other codes that may be meant
    for at, silence in enumerate(shop.settings.silenced):
        place, caution = Place(SHOP, key=("silenced", at, "caution")), silence.caution
        asked = asking.get(caution, set())
        if caution not in known:
            hint = _instead(caution, known, f"Write one of {', '.join(sorted(known))}.")
            yield Problem(place, "unknown-code", f'there is no caution "{caution}".', hint)
        elif not silence.reason.strip():
            message = f'"{caution}" is silenced without a reason, so it is printed all the same.'
            yield Problem(place, "caution-silenced", message, 'Say why it does not apply: reason = "...".')
        elif asked.isdisjoint(silence.items) if silence.items else not asked:
            message = f'"{caution}" is silenced where nothing asks for it.'
            yield Problem(place, "caution-silenced", message, "Take it out.", own_level=Level.LOOK_AT)
        for number, code in enumerate(silence.items):
            if code not in codes:
                looks -= 1
                hint = _instead(code, codes if looks >= 0 else (), "Write the code of an item.")
                key = ("silenced", at, "items", number)
                yield Problem(Place(SHOP, key=key), "unknown-code", f'there is no item "{code}".', hint)


def _missing(shop: Shop, known: frozenset[str], silences: Silences) -> Iterator[Problem]:
    """Yield what the rules add to rows: a grave caution for each row that names others, all else together.

    Each hint has the finished cell.
    """
    together: dict[tuple[str, ...], list[_Row]] = defaultdict(list)
    bare: list[_Row] = []
    for item in on_sale(shop):
        if any(" " not in entry and entry not in known for entry in item.cautions):
            continue
        printed = entries_of(item, silences)
        added = [caution for caution in due(item) if caution.key in printed and caution.key not in item.cautions]
        row = _Row(item, ";".join((*item.cautions, *(caution.key for caution in added))))
        for caution in added:
            if caution.grave and item.cautions:
                message = f'{caution.because} asks for the caution "{caution.key}" ({caution.source}), '
                message += "and the row names others only."
                silence = _silence(caution.key, item.code)
                hint = f"Write {row.cell} in the cell, or say in shop.toml why it does not apply: {silence}"
                yield Problem(item_place(shop, item, "cautions"), "caution-missing", message, hint)
        if light := tuple(caution for caution in added if caution.grave != bool(item.cautions)):
            together[tuple(caution.key for caution in light)].append(replace(row, added=light))
        if not item.cautions and (rest := tuple(caution for caution in added if not caution.grave)):
            bare.append(replace(row, added=rest))
        if foam_unknown(item) and not set(FOAMS) & set(item.cautions):
            message = "it goes into the bath, and neither its ingredients nor its row tell whether it foams."
            hint = 'Write its ingredients, or yes or no in a column "foams"; what foams has words of its own to print.'
            place = item_place(shop, item, "ingredients")
            yield Problem(place, "caution-missing", message, hint, own_level=Level.LOOK_AT)
    yield from (_together(shop, rows) for rows in together.values())
    if bare and any(item.cautions for item in shop.items):
        yield _bare(shop, bare)


@dataclass(frozen=True, slots=True)
class _Row:
    """An item's row, its finished cell of cautions, and some of those that the rules add to it."""

    item: Item
    cell: str
    added: tuple[Due, ...] = ()


def _together(shop: Shop, rows: list[_Row]) -> Problem:
    """Return the problem of rows to which the rules add the same cautions, beside others of their own."""
    first, keys = rows[0], [caution.key for caution in rows[0].added]
    asking: dict[str, list[str]] = defaultdict(list)
    for caution in first.added:
        asking[caution.because].append(f'"{caution.key}"')
    asks = listed([f"{because} asks for {listed(asked)}" for because, asked in asking.items()])
    they_are, them = ("it is", "it") if len(keys) == 1 else ("they are", "them")
    message = f"{asks}, which the row does not name; {they_are} printed all the same."
    if len(rows) > 1:
        names = listed([f'"{key}"' for key in keys])
        message = f"{names} {they_are.split()[1]} printed though their rows do not name {them}: "
        message += f"{_codes([row.item.code for row in rows])} ({first.item.code}: {asks})."
    silence = f"or say in shop.toml why it does not apply: {_silence(keys[0], first.item.code)}"
    place = item_place(shop, first.item, "cautions")
    return Problem(place, "caution-missing", message, f"Write {_cells(rows)}, {silence}", own_level=Level.LOOK_AT)


def _bare(shop: Shop, rows: list[_Row]) -> Problem:
    """Return the problem of rows without any caution that leave them to the rules, where other rows have theirs."""
    keys = dict.fromkeys(caution.key for row in rows for caution in row.added)
    codes = _codes([row.item.code for row in rows])
    count = "this row names no cautions" if len(rows) == 1 else f"{len(rows)} rows name no cautions"
    message = f"{count}, so what form and ingredients ask for is printed: {', '.join(keys)} ({codes})."
    hint = f"Write {_cells(rows)}, so that you have looked at it."
    place = item_place(shop, rows[0].item, "cautions")
    return Problem(place, "caution-missing", message, hint, own_level=Level.LOOK_AT)


def _cells(rows: list[_Row]) -> str:
    """Return the finished cells, each with the rows that it goes into."""
    by_cell: dict[str, list[str]] = defaultdict(list)
    for row in rows:
        by_cell[row.cell].append(row.item.code)
    return listed([f"{cell} in {_codes(codes)}" for cell, codes in by_cell.items()])


def _codes(codes: list[str]) -> str:
    return listed(codes, _SHOWN + 1)


def _silence(key: str, code: str) -> str:
    return f'[[silenced]] caution = "{key}", items = ["{code}"], reason = "...".'


def _young(shop: Shop, silences: Silences) -> Iterator[Problem]:
    for item in on_sale(shop):
        if not (key := too_young(item, entries_of(item, silences))):
            continue
        place = item_place(shop, item, "from_age")
        if key == "small-parts":
            message = "it has small parts, and they are forbidden in what is for children under three (16 CFR 1501.2)."
            yield Problem(place, "caution-age", message, "Write 3 years or more, or leave the small parts out.")
        else:
            message = "it holds essential oils, and they are not for babies without advice."
            if item.from_age is None:
                message = f'"{item.name}" is called as if for babies, and it holds essential oils, which are not '
                message += "for them without advice."
            hint = "Write 3 years or more, or ask a licensed professional."
            yield Problem(place, "caution-age", message, hint, own_level=Level.LOOK_AT)


def like_food(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once: what is called or shaped like food, where goods that a child could take for food may not be sold."""
    shop = listings.catalog.shop
    alike = [item for item in on_sale(shop) if any(caution.key == "not-food" for caution in due(item))]
    if alike and sells_like_eu(shop):
        names = listed([f"{item.code} {full_name(item.name, item.form)}" for item in alike])
        are = "is" if len(alike) == 1 else "are"
        message = f"{names} {are} called like something to eat. In the Union and the United Kingdom no goods may be "
        message += "sold that a child could take for food and swallow, whatever their label says."
        hint = "Look at shape, size, colour and wrapping as a child would; if it only smells like food, accept this."
        yield Problem(item_place(shop, alike[0], "name"), "like-food", message, hint)


# Ingredients: lists that can be read, allergens that are to be named, the order, and what says nothing.
#
# They recall rules that are usual; the ones in force where the goods are sold decide, and where it matters a licensed
# professional, such as a cosmetic safety assessor.


def ingredients_brackets(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A bracket without its other half hides where an ingredient ends."""
    shop = listings.catalog.shop
    for item in on_sale(shop):
        if bracket := unbalanced(item.ingredients):
            message = f'in the ingredients of {item.code} "{bracket}" has no other half.'
            hint = "Close the bracket, or take it out."
            yield Problem(item_place(shop, item, "ingredients"), "ingredients-brackets", message, hint)


def ingredient_unlisted(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What ingredients.csv puts into an item stands in its list. Told once an item."""
    shop = listings.catalog.shop
    made_of = composition(shop.ingredients, all_allergens(shop))
    for item in (item for item in on_sale(shop) if item.ingredients):
        if lacking := unlisted(item, made_of):
            names = listed([f'"{name}"' for name in lacking])
            message = f"ingredients.csv has {names} in {item.code}, its list has not."
            hint = "Write it in both alike, by its INCI name."
            yield Problem(item_place(shop, item, "ingredients"), "ingredient-unlisted", message, hint)


def ingredient_order(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """The list of an item goes by weight as far as percentages are known. Told once an item, of the first two."""
    shop = listings.catalog.shop
    made_of, country = composition(shop.ingredients), shop.settings.country
    free = "what is under 1 %" if is_in_order(Decimal("0.01"), country) else "what is 1 % or less"
    source = "21 CFR 701.3(f)" if country == "US" else "Regulation (EC) 1223/2009, Article 19(1)(g)"
    for item in on_sale(shop):
        if pair := out_of_order(item, made_of, country):
            message = f'in {item.code} "{pair[0]}" stands before "{pair[1]}", of which there is more.'
            hint = f"Write what there is most of first; {free} may follow in any order ({source})."
            yield Problem(item_place(shop, item, "ingredients"), "ingredient-order", message, hint)


def form_nearly(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once a form: one that tells no kind of thing, a letter or two from one that does. Cautions go by the form.

    Things that are used beside a soap ask for none. A slip leaves the first letter as it is: a paper is no taper.
    """
    shop, met = listings.catalog.shop, set[str]()
    kinds = dict.fromkeys(kind.lstrip("=*") for kind in KINDS if " " not in kind and kind not in THINGS)
    for item in shop.items:
        words = unknown_kind(item)[:_MOST_WORDS] if item.form not in met and len(met) < bounds.NEAR_NAMES else ()
        met.add(item.form)
        pairs = ((word, kind) for word in words if len(word) >= _SHORTEST for kind in kinds if word[0] == kind[0])
        near = (pair for pair in pairs if _is_slip(*pair))
        if slip := next(near, None):
            message = f'the form "{item.form}" is none that listkit knows, so no caution is chosen by it.'
            hint = f'If "{slip[0]}" means "{slip[1]}", write that.'
            yield Problem(item_place(shop, item, "form"), "form-nearly", message, hint)


def form_unknown(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Forms that tell no kind of thing, of which no row names cautions: only their owner knows. Many are told once."""
    shop = listings.catalog.shop
    rows: dict[str, list[Item]] = defaultdict(list)
    for item in on_sale(shop):
        rows[item.form].append(item)
    near = {problem.place for problem in form_nearly(listings, _context)}
    unknown: dict[str, Place] = {}
    for form, items in rows.items():
        answered = any(item.cautions or item.foams is not None for item in items)
        place = item_place(shop, items[0], "form")
        if unknown_kind(items[0]) and not answered and place not in near:
            unknown[form] = place
    for forms in [tuple(unknown)] if len(unknown) > _MOST_FORMS else [(form,) for form in unknown]:
        named, many = listed([f'"{form}"' for form in forms]), len(forms) > 1
        is_none, it, does = ("are no kinds of things", "them", "do") if many else ("is no kind of thing", "it", "does")
        they, burned = ("they", "are they") if many else ("it", "is it")
        message = f"{named} {is_none} that listkit knows, so no caution is chosen by {it}: {does} {they} foam in the "
        message += f"bath, {burned} burned or melted, {does} {they} go on the skin, could a child take {it} for food?"
        own = "their cautions in their rows" if many else "its cautions in its row"
        hint = f'Write {own}, or a form that says what it is, as "bath bomb" or "candle" do.'
        yield Problem(unknown[forms[0]], "form-unknown", message, hint)


def _is_slip(word: str, kind: str) -> bool:
    """Whether a word is another with a letter wrong, two of a long one, or two letters that changed places."""
    apart = distance(word, kind, 2)
    return apart <= (2 if len(word) >= _LONG else 1) or (apart == 2 and sorted(word) == sorted(kind))


def ingredients_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Something for the skin says what it is made of. A set that says nothing at all is told once, else each item."""
    shop = listings.catalog.shop
    silent: dict[str, Item] = {}
    for facts in offered_alone_too(listings.catalog):
        for_the_skin = [item for item in facts.items if is_for_the_skin(item)]
        if for_the_skin and not any(item.ingredients or item.cautions for item in facts.items):
            item = for_the_skin[0]
            message = f"nothing in {facts.name} has ingredients or cautions, so its texts and labels have none."
            hint = f"Write them in the items' rows{_column(shop)}; buyers and, for cosmetics, the law ask for them."
            yield Problem(_of_ingredients(shop, item), "ingredients-missing", message, hint)
        else:
            silent |= {item.code: item for item in for_the_skin if not item.ingredients and not item.cautions}
    for item in silent.values():
        message = f"{item.code} {item.name} has neither ingredients nor cautions."
        listed_so = "as its label lists them (INCI), highest first"
        hint = f'Write its ingredients{_column(shop)} {listed_so}; "none" where it has none, as a dish.'
        yield Problem(_of_ingredients(shop, item), "ingredients-missing", message, hint)


def _any_ingredients(shop: Shop) -> bool:
    return any("ingredients" in item.model_fields_set for item in shop.items)


def _column(shop: Shop) -> str:
    """Return where ingredients are written, said only where the sheet shows nowhere."""
    return "" if _any_ingredients(shop) else f', in a column "ingredients" of {shop.items_file}'


def _of_ingredients(shop: Shop, item: Item) -> Place:
    """Return the item's cell; its row where no row of the sheet has ingredients, so that there may be no column."""
    if _any_ingredients(shop):
        return item_place(shop, item, "ingredients")
    return Place(shop.items_file, row=item.code, key=("ingredients",))


_MOST_FORMS, _MOST_WORDS = 2, 20  # forms that nobody knows, told one by one; words of one that are looked at
_LONGEST_NAME: Final = 9
"""Words of an ingredient's name, without what is in brackets; longer ones are sentences."""
# Words that stand in sentences and in no name of an ingredient, two of which make one.
_OF_SENTENCES: Final = frozenset(
    (
        *("we", "our", "with", "made", "from", "the", "is", "are", "then", "some", "only", "just", "lovingly", "plus"),
        *("avec", "nous", "notre", "nos", "fait", "mit", "wir", "unser", "unsere", "aus", "und", "con", "nuestro"),
        *("nuestra", "hecho", "nostro", "fatto"),
    )
)


def ingredients_prose(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A list of ingredients is a list: what reads as a sentence hides what a label must name. Told once an item."""
    shop = listings.catalog.shop
    for item in on_sale(shop):
        names = ((name, folded_ingredient(name).split()) for name in split_ingredients(item.ingredients))
        prose = (name for name, words in names if len(words) > _LONGEST_NAME or len(_OF_SENTENCES & set(words)) > 1)
        if sentence := next(prose, ""):
            shown = sentence if len(sentence) <= _LONGEST else f"{sentence[:_LONGEST].rstrip()}…"
            message = f'the ingredients of {item.code} read like a sentence: "{shown}".'
            hint = "Write them one by one by their INCI names, highest first, commas between; stories go elsewhere."
            yield Problem(item_place(shop, item, "ingredients"), "ingredients-prose", message, hint)


def ingredient_plain(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once: ingredients of what goes on the skin under the names that makers use, and what a label calls them."""
    shop = listings.catalog.shop
    english = shop.settings.country == "US"
    known = label_names(english=english) if english or shop.settings.country in LIKE_EU else {}
    written: dict[str, str] = {}
    lists: dict[str, Item] = {}
    for item in (item for item in on_sale(shop) if item.ingredients and is_for_the_skin(item)):
        plain = [name for name in split_ingredients(item.ingredients) if folded_name(name) in known]
        written |= {name: known[folded_name(name)] for name in plain}
        lists |= {item.code: item} if plain else {}
    if lists:
        named = listed([f'"{name}"' for name in written])
        instead = [f'"{name}" for "{at}"' for at, name in written.items()]
        law = "by its INCI name: Regulation (EC) 1223/2009, Article 19(1)(g)"
        law = "in English: 21 CFR 701.3(c)" if english else law
        message = f"the ingredients of {_codes(list(lists))} have {named}; a label names each {law}."
        hint = f"Write {listed(instead)}."
        yield Problem(item_place(shop, next(iter(lists.values())), "ingredients"), "ingredient-plain", message, hint)


def ingredient_nearly(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once a name: an ingredient a letter or two from one by which cautions and allergens are chosen."""
    shop = listings.catalog.shop
    allergens = [folded_name(allergen.name) for allergen in (*all_allergens(shop), *FORBIDDEN)]
    known = tuple((letters_of(name.partition(" ")[0]), name) for name in dict.fromkeys((*latin_names(), *allergens)))
    single = frozenset(allergens).difference(latin_names())
    met = set[str]()
    for item in on_sale(shop):
        for name in split_ingredients(item.ingredients):
            folded = folded_name(name)
            near = _nearest(folded, known, single) if folded not in met and len(met) < bounds.NEAR_NAMES else ""
            met.add(folded)
            if near:
                meant = " ".join((near.title(), *name.split()[len(near.split()) :]))
                message = f'"{name}" in {item.code} is no ingredient that listkit knows, and nearly "{near.title()}".'
                hint = f'If it is that, write "{meant}": cautions and allergens are chosen by it.'
                level = None if kinds_of(meant) & _WARNED_OF else Level.LOOK_AT
                place = item_place(shop, item, "ingredients")
                yield Problem(place, "ingredient-nearly", message, hint, own_level=level)


@lru_cache(maxsize=4096)
def _nearest(folded: str, known: tuple[tuple[int, str], ...], single: frozenset[str]) -> str:
    """Return the `known` name, each behind the letters of its first word, that a name may be a misspelling of.

    "" for none and where a known one is in it. A `single` substance stands alone: "cinnamon oil" is no "cinnamal".
    """
    words, first = len(folded.split()), letters_of(folded.partition(" ")[0])  # two slips change four letters at most
    likely = (latin for letters, latin in known if (letters ^ first).bit_count() <= 4)
    possible = (latin for latin in likely if latin not in single or len(latin.split()) == words)
    near = next((latin for latin in possible if _is_misspelt(folded, latin)), "")
    return "" if near and any(f" {latin} " in f" {folded} " for _, latin in known) else near


_WARNED_OF: Final = frozenset({NUTS, ESSENTIAL, FOAMING, SPIRIT})
"""Kinds of material for which a caution is printed: a slip in their names would leave it out."""
# Other ingredients that are nearly called like one of the table.
_NO_SLIPS: Final = frozenset(("myristic", "myristyl", "citrullus", "menthyl", "cinnamate", "anethole", "arachidyl"))


def _is_misspelt(name: str, latin: str) -> bool:
    """Whether the first words of a name are a known one with a letter wrong, two of a long one."""
    words, beginning = latin.split(), name.split()[: len(latin.split())]
    if beginning == words or len(beginning) != len(words) or len(latin) < _LONG - 2 or beginning[0] in _NO_SLIPS:
        return False
    return all(map(_is_slip_or_same, beginning, words))


def _is_slip_or_same(word: str, known: str) -> bool:
    return word == known or (len(known) >= _SHORTEST + 1 and _is_slip(word, known))
