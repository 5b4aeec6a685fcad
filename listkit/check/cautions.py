"""Checks of cautions: unknown keys, what a piece asks for and its row leaves out, ages, forms that nobody knows.

What the rules choose is printed whether a row names it or not; these checks have the owner look at it. They remind:
local rules decide what must be said, and where it matters a licensed professional.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Final

from listkit import bounds
from listkit.check.alike import SHORTEST, is_slip, listed
from listkit.check.places import SHOP, CheckContext, item_place, not_looked_for, sells_like_eu
from listkit.compute.cautions import (
    FOAMS,
    USUAL,
    Due,
    Silences,
    due,
    dyes_hair,
    entries_of,
    foam_unknown,
    is_for_the_youngest,
    silences_of,
    too_young,
    unknown_kind,
)
from listkit.compute.kinds import KINDS, THINGS
from listkit.compute.materials import COOLING, FOAMING, first_of
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


def cautions(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Keys without a sentence; what a piece asks for and is not named; silence without a reason; what is not for so
    young an age.
    """
    shop = listings.catalog.shop
    known = _keys(shop, shop.settings.language)
    if known is None:
        return  # the file of the language is missing or broken, which is told where it is read
    silences = silences_of(shop.settings.silenced, shop.templates.owners)
    yield from _unknown(shop, known)
    yield from _untranslated(shop, known, silences)
    yield from _silenced(shop, known)
    yield from _missing(shop, known, silences)
    yield from _young(shop, silences)
    yield from _dyes(shop)


def on_sale(shop: Shop) -> Iterator[Item]:
    """Return the items that are not closed."""
    return (item for item in shop.items if item.status is not Status.CLOSED)


def _instead(word: str, known: Collection[str], otherwise: str) -> str:
    """Return the hint that names what was probably meant."""
    near = get_close_matches(word.casefold()[:_LONGEST], sorted(known), n=1) or [
        key for key in known if key.casefold() == word.casefold()
    ]
    return f'Write "{near[0]}".' if near else otherwise


def _keys(shop: Shop, language: str) -> frozenset[str] | None:
    """Return the keys that have a sentence in a language, None where its file is missing or broken."""
    texts = dict(shop.templates.texts)
    files = tuple((path, texts[path]) for path in paths_of(_FOLDER, language) if path in texts)
    read, _ = parse_cautions(files)
    return frozenset(dict(read.sentences)) if read and files else None


def _unknown(shop: Shop, known: frozenset[str]) -> Iterator[Problem]:
    """Yield keys that rows name and nobody knows; a usual one is told of the file that lacks it."""
    for item in on_sale(shop):
        for entry in (entry for entry in item.cautions if " " not in entry and entry not in known | USUAL):
            place = item_place(shop, item, "cautions")
            hint = _instead(entry, known, f"Write one of {', '.join(sorted(known))}, or a whole sentence of your own.")
            yield Problem(place, "unknown-code", f'there is no caution "{entry}".', hint)
        for entry in (entry for entry in item.cautions if " " in entry):
            if keys := _keys_in(entry, known):
                message = f'"{entry}" would be printed as it stands, and reads like {_several(keys)}.'
                yield Problem(item_place(shop, item, "cautions"), "unknown-code", message, f"Write {';'.join(keys)}.")


def _several(keys: tuple[str, ...]) -> str:
    return f'the caution "{keys[0]}"' if len(keys) == 1 else f"{len(keys)} cautions"


def _keys_in(entry: str, known: Collection[str]) -> tuple[str, ...]:
    """Return the keys that an entry of several words is: one without its hyphens, or several with nothing between."""
    words = tuple(entry.casefold().replace(",", " ").split())
    if "-".join(words) in known:
        return ("-".join(words),)
    return words if all(word in known for word in words) else ()


def _untranslated(shop: Shop, known: frozenset[str], silences: Silences) -> Iterator[Problem]:
    """Yield keys that are printed and have no sentence, once a language: of channels, of labels and the shop's own.

    Keys that rows name and nobody knows are told of each row instead. A file without any sentence lacks all.
    """
    printed = {entry.partition("=")[0] for item in on_sale(shop) for entry in entries_of(item, silences)}
    by_rule = {caution.key for item in on_sale(shop) for caution in due(item)} & printed
    spoken = {shop.settings.language, *(channel.language or shop.settings.language for channel in shop.channels)}
    spoken |= set(shop.settings.labels.languages if shop.settings.labels else ())
    for language in sorted(spoken):
        there = _keys(shop, language)
        if there is None:
            continue
        own = base_language(language) == base_language(shop.settings.language)
        asked = by_rule | (printed & USUAL)
        if lacking := sorted((asked if own else asked | (printed & known)) - there):
            place = Place(f"templates/{paths_of(_FOLDER, language)[0]}")
            message = f'there is no sentence in "{language}" for {listed(lacking)}.'
            hint = "Write each as a table with its text, after those that are there."
            hint = hint if own else "Write each after the one in your own language."
            yield Problem(place, "language-missing", message, hint)


def _silenced(shop: Shop, known: frozenset[str]) -> Iterator[Problem]:
    codes = {item.code: item for item in shop.items}
    asking: dict[str, set[str]] = defaultdict(set)  # by the key of a caution the items that print it
    for code, entry in ((each.code, entry) for each in shop.items for entry in entries_of(each)):
        asking[entry.partition("=")[0]].add(code)
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
                among = "" if looks >= 0 else " Which one is meant is not looked for: there are too many."
                hint = _instead(code, codes if looks >= 0 else (), f"Write the code of an item.{among}")
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


def _dyes(shop: Shop) -> Iterator[Problem]:
    """Yield hair dyes other than henna, unless a sentence of the owner's stands in their rows."""
    for item in on_sale(shop):
        if dyes_hair(item) and not any(" " in entry for entry in item.cautions):
            message = "it dyes hair and is no henna: such dyes have warnings of their own, which the law prescribes "
            message += "and listkit does not print (in the Union Regulation (EC) 1223/2009, Article 19(1)(d) and Annex "
            message += "III; in the United States 21 U.S.C. 361(a), of coal-tar dyes; from memory)."
            hint = "Write them into the cell as whole sentences; its safety report and your supplier know which ones."
            place = item_place(shop, item, "cautions")
            yield Problem(place, "caution-missing", message, hint, own_level=Level.LOOK_AT)


def _young(shop: Shop, silences: Silences) -> Iterator[Problem]:
    for item in on_sale(shop):
        key, place = too_young(item, entries_of(item, silences)), item_place(shop, item, "from_age")
        cooling = first_of(COOLING, item.ingredients) if is_for_the_youngest(item) else ""
        hint, whose = "Write 3 years or more, or ask a licensed professional.", ""
        if item.from_age is None:
            whose = f'"{item.name}" is called as if for babies, and '
        if key == "small-parts":
            message = "it has small parts, and they are forbidden in what is for children under three (16 CFR 1501.2)."
            yield Problem(place, "caution-age", message, "Write 3 years or more, or leave the small parts out.")
        elif cooling:
            message = f'{whose}it holds "{cooling}": menthol, camphor, eucalyptus and peppermint can make it hard for '
            message += "small children to breathe, and are not for those under three without advice."
            yield Problem(place, "caution-age", message, hint, own_level=Level.LOOK_AT)
        elif key:
            message = "it holds essential oils, and they are not for babies without advice."
            message = f"{whose}it holds essential oils, which are not for them without advice." if whose else message
            yield Problem(place, "caution-age", message, hint, own_level=Level.LOOK_AT)


_MOST_FORMS, _MOST_WORDS = 2, 20  # forms that nobody knows, told one by one; words of one that are looked at


def like_food(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once: what is called or shaped like food, where goods that a child could take for food may not be sold."""
    shop = listings.catalog.shop
    alike = [item for item in on_sale(shop) if any(caution.key == "not-food" for caution in due(item))]
    if alike and sells_like_eu(shop):
        names = listed([f"{item.code} {shop.naming.of(item)}" for item in alike])
        are = "is" if len(alike) == 1 else "are"
        message = f"{names} {are} called like something to eat. In the Union and the United Kingdom no goods may be "
        message += "sold that a child could take for food and swallow, whatever their label says."
        hint = "Look at shape, size, colour and wrapping as a child would; if it only smells like food, accept this."
        yield Problem(item_place(shop, alike[0], "name"), "like-food", message, hint)


def form_nearly(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Once a form: one that tells no kind of thing, a letter or two from one that does. Cautions go by the form.

    Things that are used beside a soap ask for none. A slip leaves the first letter as it is: a paper is no taper.
    """
    shop, met = listings.catalog.shop, set[str]()
    kinds = dict.fromkeys(kind.lstrip("=*") for kind in KINDS if " " not in kind and kind not in THINGS)
    for item in shop.items:
        if item.form in met:
            continue
        if len(met) >= bounds.NEAR_FORMS:
            yield not_looked_for(shop, "forms", bounds.NEAR_FORMS)
            return
        met.add(item.form)
        words = unknown_kind(item)[:_MOST_WORDS]
        pairs = ((word, kind) for word in words if len(word) >= SHORTEST for kind in kinds if word[0] == kind[0])
        near = (pair for pair in pairs if is_slip(*pair))
        if slip := next(near, None):
            message = f'the form "{item.form}" is none that listkit knows, so no caution is chosen by it.'
            hint = f'If "{slip[0]}" means "{slip[1]}", write that.'
            yield Problem(item_place(shop, item, "form"), "form-nearly", message, hint)


def form_unknown(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Forms that tell no kind of thing, with what their rows leave open: only their owner knows. Many are told once."""
    shop = listings.catalog.shop
    rows: dict[str, list[Item]] = defaultdict(list)
    for item in on_sale(shop):
        rows[item.form].append(item)
    near = {problem.place for problem in form_nearly(listings, _context)}
    unknown: dict[tuple[str, ...], dict[str, Place]] = defaultdict(dict)
    for form, items in rows.items():
        place = item_place(shop, items[0], "form")
        asked = _open_questions(items) if unknown_kind(items[0]) and place not in near else ()
        if asked:
            unknown[asked][form] = place
    for asked, places in unknown.items():
        for forms in [tuple(places)] if len(places) > _MOST_FORMS else [(form,) for form in places]:
            yield Problem(places[forms[0]], "form-unknown", *_asked(forms, asked))


def _asked(forms: tuple[str, ...], asked: tuple[str, ...]) -> tuple[str, str]:
    """Return what is asked of forms that nobody knows, and how it is answered."""
    named, many = listed([f'"{form}"' for form in forms]), len(forms) > 1
    is_none, it = ("are no kinds of things", "them") if many else ("is no kind of thing", "it")
    questions = ", ".join(_QUESTIONS[key][many] for key in asked)
    message = f"{named} {is_none} that listkit knows, so no caution is chosen by {it}: {questions}?"
    own = "the cautions that say so in their rows" if many else "the caution that says so in its row"
    own = f"yes or no under foams, and {own}" if "foam" in asked else own
    return message, f'Write {own}, or a form that tells, as "bath bomb" or "candle" do; accept this where none does.'


def _open_questions(items: list[Item]) -> tuple[str, ...]:
    """Return what no row of a form answers: by its cautions, whether it foams, and what it is made of."""
    named = {caution for item in items for caution in item.cautions}
    soapless = any(item.ingredients and not first_of(FOAMING, item.ingredients) for item in items)
    answered = {"foam"} if soapless or any(item.foams is False for item in items) else set()
    answered |= {"foam", "burn", "skin"} if any(item.foams for item in items) else set()
    answered |= {question for question, keys in _ANSWERS.items() if keys & named}
    return tuple(question for question in _QUESTIONS if question not in answered)


_QUESTIONS: Final = {
    "foam": ("does it foam in the bath", "do they foam in the bath"),
    "burn": ("is it burned or melted", "are they burned or melted"),
    "skin": ("does it go on the skin", "do they go on the skin"),
    "food": ("could a child take it for food", "could a child take them for food"),
}
"""What cautions are chosen by, asked of one form and of several."""
_FLAME: Final = frozenset(("candle", "wax-melt", "incense", "matches"))
_ON_SKIN: Final = frozenset(("external-use", "avoid-eyes", "patch-test", "lip-use", "hair-dye", "no-sunscreen"))
_IN_TUB: Final = frozenset((*FOAMS, "adults-only"))
_ANSWERS: Final = {
    "foam": _IN_TUB | _FLAME | {"room-only", "lip-use", "hair-dye"},
    "burn": _FLAME | _ON_SKIN | _IN_TUB | {"room-only"},
    "skin": _FLAME | _ON_SKIN | _IN_TUB | {"room-only"},
    "food": frozenset(("not-food", "keep-from-children", "small-parts")) | _FLAME,
}
"""The cautions that answer each: what is burned is not put on the skin."""
