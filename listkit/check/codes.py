"""Checks of codes and of names of files: options alike, GTINs, codes that collide or that spreadsheets spoil."""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from listkit.check.alike import folded, listed, nearly_same, words_of
from listkit.check.places import CheckContext, item_place, note_finder, offered, set_place
from listkit.compute.build import option_says
from listkit.compute.catalog import Catalog, Choice, SetFacts, Variant
from listkit.listing.listings import Listings
from listkit.listing.photos import slug_of
from listkit.model.gift_set import GiftSet, Slot
from listkit.model.item import Item
from listkit.model.naming import Naming
from listkit.paths import folded_path, path_faults
from listkit.problem import FieldError, Level, Place, Problem, heap_of
from listkit.units.identifiers import in_fourteen, parse_gtin

# GTINs: who in the shop carries which number, and which numbers are for use inside alone.

# Restricted circulation numbers by the GS1 prefix they begin with (GS1 General Specifications, section 1.4, from
# memory): 020-029 and 200-299 within a region, 040-049 within a company; in a GTIN-8 all that begin with 0 or 2.
_TWELVE: Final = 12
_NEIGHBOURS: Final = 2  # GTINs of 13 digits that make one of 12 look odd
_INTERNAL: Final = (("020", "029"), ("040", "049"), ("200", "299"))


def internal(gtin: str) -> bool:
    """Whether a number is for use within one company or region only."""
    number = in_fourteen(gtin)
    if number.startswith("000000"):  # a GTIN-8, whose prefix stands further right
        return number[6] in "02"
    return any(low <= number[1:4] <= high for low, high in _INTERNAL)


@dataclass(frozen=True, slots=True)
class Labelled:
    """A GTIN as it stands in a file, what carries it, and where.

    A set without box and of one piece is that piece, and has the item as its owner; `item` says that the number stands
    in the items table.
    """

    gtin: str
    owner: str
    place: Place
    item: bool


def labelled(catalog: Catalog) -> Iterator[Labelled]:
    """Yield every GTIN that the files state, of items first, then of variants; none twice that is inherited."""
    for item in catalog.shop.items:
        if item.gtin:
            yield Labelled(item.gtin, item.code, item_place(catalog.shop, item, "gtin"), item=True)
    for facts in catalog.sets:
        key_of = note_finder(facts.source.gift_set)
        for variant in facts.variants:
            if variant.gtin and (key := key_of(variant)) and facts.source.gift_set.variants[int(key[1])].gtin:
                alone = only_piece(facts, variant)
                owner = alone.code if alone else variant.code
                yield Labelled(variant.gtin, owner, set_place(facts, *key, "gtin"), item=False)


def only_piece(facts: SetFacts, variant: Variant) -> Item | None:
    """Return the item that a variant of one piece without box is."""
    if facts.source.gift_set.boxed or len(variant.pieces) != 1 or variant.pieces[0].quantity != 1:
        return None
    return variant.pieces[0].item


# What a spreadsheet makes of a code when a file is opened with it: a date, a number, a truth value.
#
# The harm is known from science: Ziemann, Eren, El-Osta, "Gene name errors are widespread in the scientific
# literature", Genome Biology 17:177 (2016), where SEPT2 became 2-Sep and 2310009E13 became 2.31E+13.

# Names of the months as spreadsheets in these languages know them, long and short without full stops (CLDR 48).
_MONTHS: Final = {
    "en": "jan feb mar apr may jun jul aug sep sept oct nov dec january february march april june july august "
    "september october november december",
    "de": "jan feb mär mrz apr mai jun jul aug sep okt nov dez januar februar märz april juni juli august september "
    "oktober november dezember",
    "fr": "janv févr mars avr mai juin juil août sept oct nov déc janvier février avril juillet septembre octobre "
    "novembre décembre",
    "es": "ene feb mar abr may jun jul ago sept sep oct nov dic enero febrero marzo abril mayo junio julio agosto "
    "septiembre octubre noviembre diciembre",
    "it": "gen feb mar apr mag giu lug ago set ott nov dic gennaio febbraio marzo aprile maggio giugno luglio agosto "
    "settembre ottobre novembre dicembre",
    "nl": "jan feb mrt apr mei jun jul aug sep okt nov dec januari februari maart april juni juli augustus september "
    "oktober november december",
}
_NUMERIC_DATE: Final = re.compile(r"(\d{1,4})([-/.])(\d{1,4})(?:\2(\d{1,4}))?", re.ASCII)
_WORD_DATE: Final = re.compile(r"(?:(\d{1,4})[-/. ]?)?([^\W\d_]{3,10})[-/. ]?(\d{1,4})?", re.UNICODE)
_EXPONENT: Final = re.compile(r"\d+(?:\.\d+)?[eE][-+]?\d{1,3}", re.ASCII)
_DIGITS: Final = re.compile(r"\d+", re.ASCII)
_MOST_DIGITS: Final = 11  # of more, a cell shows an exponent
_YEAR: Final = range(1900, 10_000)


def made_of(code: str, language: str = "en") -> str:
    """Return what a spreadsheet would make of a code: "a date", "the number 7" ...; "" when it stays as it is.

    Months are known in English and in `language` (BCP 47).
    """
    if not code[:1].isdigit():
        if code.casefold() in {"true", "false"}:
            return "a truth value"
        if code[:3].casefold() not in _beginnings(language.partition("-")[0]):
            return ""
    if _DIGITS.fullmatch(code):
        if code[0] == "0" and len(code) > 1:
            return f"the number {int(code)}"
        return "a number with an exponent" if len(code) > _MOST_DIGITS else ""
    if _EXPONENT.fullmatch(code):
        return "a number with an exponent"
    return "a date" if _is_date(code, language.partition("-")[0]) else ""


def _is_date(code: str, language: str) -> bool:
    if match := _NUMERIC_DATE.fullmatch(code):
        numbers = [int(number) for number in match.group(1, 3, 4) if number is not None]
        return _days_and_months(numbers) if len(numbers) == 3 else _day_and_month(*numbers)
    if match := _WORD_DATE.fullmatch(code):
        before, word, after = match.groups()
        numbers = [int(number) for number in (before, after) if number is not None]
        known = word.casefold() in months_of(language)
        return known and any(n in range(1, 32) or n in _YEAR for n in numbers)
    return False


@cache
def _beginnings(language: str) -> frozenset[str]:
    return frozenset(month[:3] for month in months_of(language))


@cache
def months_of(language: str) -> frozenset[str]:
    """Return the names of months in English and in `language`."""
    return frozenset(_MONTHS["en"].split()) | frozenset(_MONTHS.get(language, "").split())


def _day_and_month(*numbers: int) -> bool:
    """Whether two numbers are a day and a month, or a month and a year, in any order."""
    pair = sorted(numbers)
    return 1 <= pair[0] <= 12 and (1 <= pair[1] <= 31 or pair[1] in _YEAR)


def _days_and_months(numbers: list[int]) -> bool:
    """Whether of three numbers one can be a month, one a day and one a year, as any country writes them."""
    year = next((n for n in (numbers[0], numbers[2]) if n > 31 or n == 0), numbers[2])
    rest = list(numbers)
    rest.remove(year)
    return (year in _YEAR or year < 100) and min(rest) in range(1, 13) and max(rest) in range(1, 32)


_MOST_COMPARED: Final = 200
"""Options of one slot that are compared with each other; a slot of more is no choice a buyer can make."""


def option_twins(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Two options that read alike leave the buyer without a choice."""
    language, naming = listings.catalog.shop.settings.language, listings.catalog.shop.naming
    for facts in listings.catalog.sets:
        for index, slot, says in _slots(facts, naming):
            first: dict[str, int] = {}
            for at, text in enumerate(says):
                other = first.setdefault(folded(text, language), at)
                if other != at:
                    message = f'in "{slot.slot}" the options "{says[other]}" and "{text}" read alike.'
                    place = set_place(facts, "contents", index, "choose", at)
                    yield Problem(place, "option-twins", message, 'Give each its own words with says = "...".')


def options_alike(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Two options that differ in a letter or two are probably one of them a slip."""
    language, most = listings.catalog.shop.settings.language, int(context.figures["options-alike"])
    naming = listings.catalog.shop.naming
    for facts in listings.catalog.sets:
        for index, slot, says in _slots(facts, naming):
            read = [words_of(folded(text, language)) for text in says[:_MOST_COMPARED]]
            for at, words in enumerate(read):
                near = next((i for i in range(at) if nearly_same(read[i], words, most)), None)
                if near is not None:
                    message = f'in "{slot.slot}" the options "{says[near]}" and "{says[at]}" are nearly the same.'
                    place = set_place(facts, "contents", index, "choose", at)
                    yield Problem(place, "options-alike", message, "Is one of them a slip?")


def option_alone(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A slot of one option asks buyers to choose where there is nothing to choose."""
    naming = listings.catalog.shop.naming
    for facts in offered(listings.catalog):
        for index, slot, says in _slots(facts, naming):
            if len(slot.choose) == 1:
                message = (
                    f'"{slot.slot}" has one option, {says[0]}, and nothing to choose; texts say that it is inside.'
                )
                hint = f'Name more options, or write item = "{slot.choose[0].item}" instead of slot and choose.'
                yield Problem(set_place(facts, "contents", index, "choose"), "option-alone", message, hint)


def option_names(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """An option is called the same in every set. Told once an item, of the set that comes last."""
    first: dict[str, tuple[str, SetFacts]] = {}
    seen: set[str] = set()
    naming = listings.catalog.shop.naming
    for facts in offered(listings.catalog):
        for index, slot, says in _slots(facts, naming):
            for at, (option, text) in enumerate(zip(slot.choose, says, strict=True)):
                text_before, before = first.setdefault(option.item, (text, facts))
                if text != text_before and option.item not in seen:
                    seen.add(option.item)
                    message = f'{option.item} is "{text_before}" in {before.name}, and "{text}" here.'
                    hint = 'Let buyers read the same of it everywhere: the same says = "..." in each set, or none.'
                    place = set_place(facts, "contents", index, "choose", at)
                    yield Problem(place, "option-names", message, hint)


def _slots(facts: SetFacts, naming: Naming) -> Iterator[tuple[int, Slot, list[str]]]:
    """Yield each slot with its place in the contents and what its options read."""
    items = {item.code: item for item in facts.items}
    for index, entry in enumerate(facts.source.gift_set.contents):
        if isinstance(entry, Slot):
            yield index, entry, [option_says(option, items[option.item], naming) for option in entry.choose]


def gtin_wrong(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A GTIN has one of four lengths and a check digit; spreadsheets take zeros and digits from it."""
    told: set[Place] = set()
    sound: dict[Place, str] = {}
    for one in labelled(listings.catalog):
        try:
            parse_gtin(one.gtin)
            sound[one.place] = one.gtin.strip()
        except FieldError as fault:
            if one.place not in told:  # one line may speak of several variants
                yield Problem(one.place, "gtin-wrong", fault.message, fault.hint)
            told.add(one.place)
    yield from _shorter_than_all(sound)


def _shorter_than_all(gtins: Mapping[Place, str]) -> Iterator[Problem]:
    """Yield the one of 12 digits where all others have 13: a lost zero at its front leaves the check digit right."""
    short = [(place, gtin) for place, gtin in gtins.items() if len(gtin) == _TWELVE]
    long = [gtin for gtin in gtins.values() if len(gtin) == _TWELVE + 1]
    if len(short) == 1 and len(long) >= _NEIGHBOURS and len(long) == len(gtins) - 1:
        [(place, gtin)] = short
        message = f"{gtin} has 12 digits, and the other {len(long)} GTINs have 13."
        hint = f'If a spreadsheet took its zero, write "0{gtin}"; both are the same number.'
        yield Problem(place, "gtin-wrong", message, hint, Level.LOOK_AT)


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
    feeds = [facts for facts in listings.catalog.listed if facts.code in shown]
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
    for item in catalog.shop.items:
        if made := made_of(item.code, language):
            place, message = item_place(catalog.shop, item, "code"), f'a spreadsheet makes {made} of "{item.code}".'
            yield Problem(place, "code-unsafe", message, _safe(made))
    for facts in catalog.sets:
        made = made_of(facts.code, language)
        spoilt = [facts.code] if made else [one.code for one in facts.variants if made_of(one.code, language)]
        if spoilt:
            message = f'a spreadsheet makes {made_of(spoilt[0], language)} of "{spoilt[0]}"'
            more = f", and spoils {len(spoilt) - 1} more." if len(spoilt) > 1 else "."
            yield Problem(set_place(facts, "code"), "code-unsafe", message + more, _safe(made_of(spoilt[0], language)))


def _safe(made: str) -> str:
    """Return how a code is written so that nothing is made of it."""
    return "Write a code with letters that are no month." if made == "a date" else "Let the code begin with a letter."


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
        for code, thing in list(clashes.items())[:1]:
            more = f", and {len(clashes) - 1} more are taken" if len(clashes) > 1 else ""
            message = f'the variant code "{code}" is that of {thing} too{more}.'
            hint = 'Write another code, or another part = "..." for the option.'
            yield Problem(set_place(facts, "code"), "code-twice", message, hint)
        yield from _within(facts, listings.catalog.shop.naming)


def _stated(facts: SetFacts) -> frozenset[str]:
    return frozenset(note.code for note in facts.source.gift_set.variants if note.code)


def _within(facts: SetFacts, naming: Naming) -> Iterator[Problem]:
    """Two variants of one set with one code; not where an option is listed twice, which option-twins tells."""
    first: dict[str, Variant] = {}
    for one in facts.variants:
        other = first.setdefault(one.code, one)
        if other is one:
            continue
        pair = [(a, b) for a, b in zip(other.choices, one.choices, strict=True) if a.item.code != b.item.code]
        for a, b in pair[:1]:
            goods = f"{naming.of(a.item)} ({a.item.code}) and {naming.of(b.item)} ({b.item.code})"
            message = f'two variants would have the code "{one.code}": of {a.slot}, {goods} end alike.'
            hint = f'Give {naming.of(b.item)} an ending of its own: part = "...".'
            place = set_place(facts, *_ending(facts.source.gift_set, b))
            yield Problem(place, "code-twice", message, hint)
            return


def _ending(gift_set: GiftSet, chosen: Choice) -> tuple[str | int, ...]:
    """Return the key that states what an option adds to the codes of variants."""
    slots = (
        (at, part) for at, part in enumerate(gift_set.contents) if isinstance(part, Slot) and part.slot == chosen.slot
    )
    options = ((at, number, each) for at, slot in slots for number, each in enumerate(slot.choose))
    found = ((at, number) for at, number, each in options if each.item == chosen.item.code)
    at, number = next(found, (-1, -1))
    return ("contents", at, "choose", number, "part") if at >= 0 else ("contents",)


# Signs that nobody sees in names and choices: without width, or turning the direction of writing.
#
# They make two names out of one, or let one be read as another. Where a script needs them (Persian and Indic joiners,
# marks of direction beside Hebrew and Arabic, spaces without width in Thai and Khmer, joined pictograms) they are
# left alone. The Unicode Standard, categories Cc, Cf, Zl and Zp, and what is Default_Ignorable_Code_Point besides.

_JOINERS: Final = "\u200c\u200d"
_NO_WIDTH: Final = "\u200b"
_NO_LOOK: Final = "\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0"  # letters that are drawn as nothing
# What chooses between forms of the sign before, or parts it from the next: behind pictograms and eastern letters.
_VARIANTS: Final = frozenset(
    map(chr, (0x34F, *range(0x180B, 0x1810), *range(0xFE00, 0xFE10), *range(0xE0100, 0xE01F0)))
)
_BREAKS: Final = {"\t": "a tab", "\x85": "a line end"} | dict.fromkeys("\n\r\u2028\u2029", "a line end")
_KEYCAP: Final = "\u20e3"
_POINTED: Final = frozenset("\u203c\u2049")  # two marks that are pictograms too (emoji-variation-sequences.txt)
_MARKS: Final = "\u200e\u200f\u061c"
_EAST_OF: Final = "\u0590"  # from Hebrew on stand the scripts that need such signs, and pictograms
_PUNCTUATION: Final = range(0x2000, 0x2070)
_SHOWN: Final = 24  # letters before the sign
_ITEM_TEXTS: Final = ("name", "form", "scent", "net", "container")
_SET_TEXTS: Final = ("name", "theme", "title", "season")


def letter_unseen(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A name that holds a sign which nobody sees is not the name that it seems."""
    shop = listings.catalog.shop
    for item in shop.items:
        for field in _ITEM_TEXTS:
            value = getattr(item, field)
            yield from _told(value if isinstance(value, str) else "", item_place(shop, item, field))
    for facts in listings.catalog.sets:
        yield from _of_set(facts)


def _of_set(facts: SetFacts) -> Iterator[Problem]:
    own = facts.source.gift_set
    for key in _SET_TEXTS:
        text = getattr(own, key)
        yield from _told(" ".join(text.split("\n")) if key == "theme" else text, set_place(facts, key))
    for at, word in enumerate(own.keywords):
        yield from _told(word, set_place(facts, "keywords", at))
    for at, entry in enumerate(own.contents):
        if isinstance(entry, Slot):
            yield from _told(entry.slot, set_place(facts, "contents", at, "slot"))
            for number, option in enumerate(entry.choose):
                yield from _told(option.says, set_place(facts, "contents", at, "choose", number))


def _told(text: str, place: Place) -> Iterator[Problem]:
    """Yield the first sign of a text that nobody sees."""
    if text.isascii() and text.isprintable():
        return
    if heap := heap_of(text):
        where = f'behind "{text.partition(heap)[0][-_SHOWN:]}" stand {len(heap)} marks upon one letter'
        yield Problem(place, "letter-unseen", f"{where}, over the lines around it.", "Type it anew.")
        return
    at = next((at for at, sign in enumerate(text) if _unseen(sign) and not _needed(text, at)), None)
    if at is None:
        return
    seen = " ".join(
        "".join(" " if sign in _BREAKS else sign for sign in text if sign in _BREAKS or not _unseen(sign)).split()
    )
    before = "".join(sign for sign in text[:at] if not _unseen(sign))[-_SHOWN:]
    where = f'behind "{before}"' if before.strip() else f'before "{seen[:_SHOWN]}"'
    name = _BREAKS.get(text[at]) or unicodedata.name(text[at], "a control sign").lower()
    sign = f"U+{ord(text[at]):04X}, {name}"
    yield Problem(place, "letter-unseen", f"{where} stands a sign that nobody sees ({sign}).", f'Type "{seen}" anew.')


def _unseen(sign: str) -> bool:
    return unicodedata.category(sign) in {"Cc", "Cf", "Zl", "Zp"} or sign in _NO_LOOK or sign in _VARIANTS


def _needed(text: str, at: int) -> bool:
    """Whether the script around asks for the sign."""
    sign, before = text[at], text[at - 1] if at else ""
    coloured = unicodedata.category(before or "a") == "So" or before in _POINTED or text[at + 1 : at + 2] == _KEYCAP
    if sign in _VARIANTS and coloured:
        return True
    if sign in _MARKS:
        return any(unicodedata.bidirectional(letter) in {"R", "AL"} and letter not in _MARKS for letter in text)
    eastern = before >= _EAST_OF and ord(before) not in _PUNCTUATION if before else False
    tag = 0xE0020 <= ord(sign) <= 0xE007F  # the letters of a flag
    return eastern and (
        sign in _JOINERS
        or sign in _VARIANTS
        or tag
        or (sign == _NO_WIDTH and unicodedata.category(before) in {"Lo", "Mn"})
    )


# Names of files: whatever `save` will ask of them, so that no build stops half way.


def folder_name(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """A set's folder names its pages in a way that every system takes; told once a folder.

    All other outputs have names of our own, or plain letters and digits made of the owner's words.
    """
    pages = {listing.page: listing for listing in listings if "listings" in listing.channel.make}
    shop = listings.catalog.shop
    taken = {folded_path(each.folder) for each in shop.sets} | {folded_path(each.folder) for each in shop.folders}
    told: set[str] = set()
    for page, fault in path_faults(pages):
        listing = pages[page]
        if (folder := listing.folder) in told:
            continue
        told.add(folder)
        name = _free(slug_of(folder) or "set", taken)
        taken.add(name)
        single = listing.facts.is_single
        place = listing.place("code") if single else Place(f"sets/{folder}")
        hint = "Give the item another code." if single else f'Call the folder "{name}".'
        yield Problem(place, "folder-name", f'its page "{page}" {fault}.', hint)


_STEM: Final = 60  # characters of a proposed name, which has endings behind it


def _free(stem: str, taken: set[str]) -> str:
    """Return a name like `stem` that every system takes and no other set's folder has."""
    number, name = 1, (stem := stem[:_STEM].rstrip("-"))
    while folded_path(name) in taken or any(path_faults([name])):
        number += 1
        name = f"{stem}-{number}"
    return name
