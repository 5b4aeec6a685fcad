"""Check of languages: what a channel or label in another language shows and languages/<language>.toml does not name.

Only what is offered there is looked at, each section of the file once. Missing stories and wording are
reported where they are read.
"""

import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from difflib import get_close_matches
from typing import Any, Final

from listkit.bounded_toml import parse_bounded
from listkit.check.alike import listed
from listkit.check.channels import items_taken
from listkit.check.claims import languages_of
from listkit.check.claims_table import FOLDER as CLAIMS
from listkit.check.places import SHOP, CheckContext, offered_alone_too
from listkit.compute.catalog import Catalog, SetFacts
from listkit.listing.listings import Listings
from listkit.listing.print_words import print_words, voice_in
from listkit.listing.translate import file_of, is_foreign, shipped, translation_of
from listkit.listing.words import base_language, not_toml, paths_of
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.model.translation import TranslatedSet, Translation
from listkit.problem import KeyPath, Place, Problem, quoted

_SHOWN: Final = 4
"""Names of one section that a message shows; the others are counted."""
_MOST_NEAR: Final = 500
"""Unknown keys of all files for which another is looked for."""
_NEAR: Final = 0.6  # how much alike two words are of which one is a slip for the other, as difflib reckons it


def language_missing(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Every name that a channel shows is there in its language: of items, forms, scents, seasons and sets.

    So are the words and cautions of the labels in every language of theirs, and all words of a file for the owner's
    own pages.
    """
    yield from _label_words(listings)
    yield from _page_words(listings.catalog.shop)
    yield from _strange_words(listings.catalog.shop)
    shop = listings.catalog.shop
    asked = (*(channel.language or "" for channel in shop.channels), *_of_labels(shop))
    spoken = {language for language in asked if language and is_foreign(shop, language)}
    there = set(shipped(shop))
    lost = shop.left_out.languages  # told already
    for tag in sorted(tag for tag in spoken if base_language(tag) in there and not lost & {tag, base_language(tag)}):
        translation = translation_of(shop, tag)
        shown = tuple(_shown_in(listings.catalog, tag))
        if translation is None:
            if shown:
                yield _no_file(shop, tag, shown)
            continue
        file = file_of(shop, tag)
        yield from _sections(file, tag, shown, translation, _twins(shop, shown))
        for facts in (facts for facts in shown if not facts.is_single):
            yield from _set(file, tag, facts, translation)
    yield from _names_nothing(listings)


def _shown_in(catalog: Catalog, tag: str) -> Iterator[SetFacts]:
    """Yield what labels or some channel of a language show, with the items of the variants that are shown there."""
    shop = catalog.shop
    channels = tuple(channel for channel in shop.channels if channel.language == tag)
    for facts in offered_alone_too(catalog):
        if tag in _of_labels(shop) and not facts.is_single:
            yield facts
            continue
        shown = {item.code for channel in channels for item in items_taken(channel, facts, shop.settings)}
        if shown:
            yield replace(facts, items=tuple(item for item in facts.items if item.code in shown))


def _twins(shop: Shop, shown: tuple[SetFacts, ...]) -> tuple[Item, ...]:
    """Return the full sizes that a text names beside the minis in it."""
    larger = {item.larger for facts in shown for item in facts.items}
    return tuple(item for item in shop.items if item.code in larger)


def _of_labels(shop: Shop) -> tuple[str, ...]:
    return shop.settings.labels.languages if shop.settings.labels else ()


def _no_file(shop: Shop, tag: str, sets: tuple[SetFacts, ...]) -> Problem:
    """Return the problem of a language without a file, with the beginning of one as the hint."""
    file = file_of(shop, tag)
    readers = [channel.name for channel in shop.channels if channel.language == tag]
    readers += ["the outside label"] if tag in _of_labels(shop) else []
    item = _items_of(sets)[0]
    message = f'{listed(readers)} reads "{tag}", and nothing says what your goods are called there.'
    form = f'[forms] "{item.form}" = "...", ' if item.form else ""
    first = next((f', [sets.{each.code}] name = "...", theme = "..."' for each in sets if not each.is_single), "")
    hint = f'Write this file: {form}[items] {item.code} = "..."{first}.'
    return Problem(Place(file), "language-missing", message, hint)


def _items_of(sets: tuple[SetFacts, ...]) -> tuple[Item, ...]:
    return tuple({item.code: item for facts in sets for item in facts.items}.values())


def _sections(
    file: str, tag: str, sets: tuple[SetFacts, ...], translation: Translation, twins: tuple[Item, ...]
) -> Iterator[Problem]:
    """Yield one problem for each section of the file that lacks names of items, forms, scents and the like.

    Of `twins` only name and form are shown.
    """
    items = _items_of(sets)
    used: dict[str, tuple[str, ...]] = {
        "forms": tuple(item.form for item in (*items, *twins)),
        "scents": tuple(item.scent for item in items),
        "containers": tuple(item.container for item in items),
        "seasons": tuple(facts.season.name for facts in sets if facts.season),
        "cautions": tuple(entry for item in items for entry in item.cautions if " " in entry),
        "items": tuple(item.code for item in (*items, *twins)),
    }
    for section, names in used.items():
        there = getattr(translation, section)
        missing = [name for name in dict.fromkeys(names) if name and name not in there]
        if missing:
            yield _missing(file, tag, (section,), missing)


def _set(file: str, tag: str, facts: SetFacts, translation: Translation) -> Iterator[Problem]:
    """Yield what one set lacks: all of it, or single texts."""
    gift_set, translated = facts.source.gift_set, translation.sets.get(facts.code)
    if translated is None:
        message = f'[sets.{facts.code}] is not there: {facts.name} has no name in "{tag}".'
        hint = f'Write [sets.{facts.code}] with name = "...", and theme, keywords and slots where the set has them.'
        yield Problem(Place(file, key=("sets",)), "language-missing", message, hint)
        return
    for name in ("theme", "keywords", "category"):
        if getattr(gift_set, name) and not getattr(translated, name):
            message = f'{facts.name} has no {name} in "{tag}".'
            value = '["..."]' if name == "keywords" else '"..."'
            place = Place(file, key=("sets", facts.code, "name"))
            yield Problem(place, "language-missing", message, f"Write {name} = {value} in [sets.{facts.code}].")
    slots = [slot.slot for slot in gift_set.slots if slot.slot not in translated.slots]
    there = {item.code for item in facts.items}
    worded = [option.item for slot in gift_set.slots for option in slot.choose if option.says and option.item in there]
    options = [code for code in worded if code not in translated.options]
    for key, missing in (("slots", slots), ("options", options)):
        if missing:
            yield _missing(file, tag, ("sets", facts.code, key), missing)
    yield from _alike(file, tag, facts, translated)


def _alike(file: str, tag: str, facts: SetFacts, translated: TranslatedSet) -> Iterator[Problem]:
    """Yield each slot that is called there as one before it: what buyers choose would be told of the wrong one."""
    seen: set[str] = set()
    for slot in facts.source.gift_set.slots:
        name = translated.slots.get(slot.slot, slot.slot)
        if name in seen:
            message = f'two slots of {facts.name} are called {quoted(name)} in "{tag}".'
            place = Place(file, key=("sets", facts.code, "slots", slot.slot))
            yield Problem(place, "code-twice", message, "Give each its own name.")
        seen.add(name)


def _missing(file: str, tag: str, key: KeyPath, names: list[str], most: int = _SHOWN) -> Problem:
    shown = listed([f'"{name}"' for name in names], most)
    section = ".".join(str(part) for part in key)
    message = f'[{section}] has nothing in "{tag}" for {shown}.'
    return Problem(Place(file, key=key), "language-missing", message, f'Write each, as in "{names[0]}" = "...".')


def _names_nothing(listings: Listings) -> Iterator[Problem]:
    """Yield codes in languages/ that name nothing, and words for slots that a set has not."""
    shop = listings.catalog.shop
    items, sets = {item.code for item in shop.items}, {facts.code: facts for facts in listings.catalog.sets}
    unread = shop.left_out.may_hold
    for tag, translation in shop.translations:
        file = file_of(shop, tag)
        for code in (code for code in translation.items if code not in items and not unread(code)):
            place, message = Place(file, key=("items", code)), f'there is no item "{code}".'
            yield Problem(place, "unknown-code", message, "Mend the code, or take the line out.")
        for code, translated in translation.sets.items():
            if code in sets or not unread(code):
                yield from _strange(file, code, translated, sets.get(code))


def _strange(file: str, code: str, translated: TranslatedSet, facts: SetFacts | None) -> Iterator[Problem]:
    """Yield that a translated set is not there, or each of its slots that the set has not."""
    if facts is None:
        place, message = Place(file, key=("sets", code)), f'there is no set "{code}".'
        yield Problem(place, "unknown-code", message, "Mend the code, or take the table out.")
        return
    slots = [slot.slot for slot in facts.source.gift_set.slots]
    for name in (name for name in translated.slots if name not in slots):
        place, message = Place(file, key=("sets", code, "slots", name)), f'{facts.name} has no slot "{name}".'
        yield Problem(place, "unknown-code", message, f"Its slots are {listed(slots)}." if slots else "Take it out.")


_PAGES: Final = ("day", "pack", "plan", "proof")
"""Folders of templates with the words of pages for the owner alone."""


def _page_words(shop: Shop) -> Iterator[Problem]:
    """Yield what the owner's own files for her pages lack of the words that ours have, one problem a section."""
    texts, owners = dict(shop.templates.texts), shop.templates.owners
    ours = [path for path in sorted(texts.keys() - owners) if _is_toml(path)]
    wholes: dict[str, Mapping[str, Any]] = {}  # the words of each folder of pages, as ours have them
    for folder in _PAGES:
        of_folder = [path for path in ours if path.startswith(f"{folder}/")]
        if of_folder:
            usual = f"{folder}/en.toml"
            wholes[folder] = parse_bounded(texts[usual if usual in of_folder else of_folder[0]])
    for path in sorted(owners):
        folder, _, name = path.partition("/")
        tag, whole = name.removesuffix(".toml"), wholes.get(folder)
        if whole is None or not _is_toml(path):
            continue
        try:
            parts = [parse_bounded(texts[each]) for each in paths_of(folder, tag) if each in texts]
        except tomllib.TOMLDecodeError as fault:
            yield not_toml(path, fault)
            continue
        for section, words in whole.items():
            there = {key for part in parts if isinstance(part.get(section), dict) for key in part[section]}
            if missing := [key for key in words if key not in there]:
                yield _missing(f"templates/{path}", tag, (section,), missing, len(missing))


_WORDED: Final = ("words", "print", "label", *_PAGES)
"""Folders of templates whose files have the same keys in every language."""
_FREE: Final = frozenset((("forms",), ("shots",), ("counted",), ("net", "units"), ("nouns", "article_before")))
"""Tables of templates/words whose keys are the language's own, or the owner's."""


def _strange_words(shop: Shop) -> Iterator[Problem]:
    """Yield keys of the owner's own files of words that no file of ours has, and headings of texts without words."""
    texts, owners, shipped = dict(shop.templates.texts), shop.templates.owners, shop.templates.shipped()
    paths = [path for path in sorted(owners) if _is_toml(path) and path.partition("/")[0] in _WORDED]
    ours: dict[str, dict[tuple[str, ...], None]] = {path.partition("/")[0]: {} for path in paths}
    for path, text in sorted(shipped.items()):
        if _is_toml(path) and (keys := ours.get(path.partition("/")[0])) is not None:
            keys |= dict.fromkeys(key for key, _ in _keys(parse_bounded(text)))
    strange = 0
    for path in paths:
        folder, file = path.partition("/")[0], f"templates/{path}"
        known = ours[folder].keys()
        try:
            own = dict(_keys(parse_bounded(texts[path])))
        except tomllib.TOMLDecodeError:
            continue  # told where it is read
        for key, value in own.items() if known else ():
            if key not in known:
                strange += 1
                yield _unknown_key(file, key, known if strange <= _MOST_NEAR else ())
            elif folder == "words" and key[0] == "headings" and not str(value).strip():
                message, hint = f'"{".".join(key)}" has no words.', "Write between its quotes what is to stand there."
                yield Problem(Place(file, key=key), "language-missing", message, hint)


def _keys(table: Mapping[str, object], *above: str) -> Iterator[tuple[tuple[str, ...], object]]:
    """Yield every key of a file of words with what stands there; of tables with keys of their own nothing."""
    for key, value in table.items():
        if isinstance(value, Mapping) and (*above, key) not in _FREE:
            yield from _keys(value, *above, key)
        elif (*above, key) not in _FREE:
            yield (*above, key), value


def _unknown_key(file: str, key: tuple[str, ...], known: Collection[tuple[str, ...]]) -> Problem:
    """Return the problem of a key that means nothing, with the near miss of its table as the hint."""
    beside = sorted(each[-1] for each in known if each[:-1] == key[:-1])
    sections = sorted({".".join(each[:-1]) for each in known})
    near = get_close_matches(key[-1], beside, n=1, cutoff=_NEAR)
    hint = f'Write "{near[0]}", or take it out.' if near else "Take it out."
    if known and not beside:
        section = get_close_matches(".".join(key[:-1]), sections, n=1, cutoff=_NEAR)
        hint = f"Its table is [{section[0]}]." if section else "Take the table out."
    return Problem(Place(file, key=key), "unknown-key", f'there is no key "{".".join(key)}".', hint)


def _is_toml(path: str) -> bool:
    return path.endswith(".toml")


def language_partly(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """What a language that texts are written in lacks beside them: words of the owner's pages, a table of claims."""
    shop = listings.catalog.shop
    there, written, own = {path for path, _ in shop.templates.texts}, set(shipped(shop)), shop.settings.language
    pages = [folder for folder in _PAGES if not there.intersection(paths_of(folder, own))]
    if pages and base_language(own) in written:
        message = f'there is nothing in "{own}" for {listed(pages)}, which are for you alone.'
        hint = (
            "Write these files after the English ones. Until then such pages come in English, those of days not at all."
        )
        yield Problem(Place(f"templates/{pages[0]}/{own}.toml"), "language-partly", message, hint)
    for language in sorted(written & {base_language(tag) for tag in languages_of(shop)}):
        file = f"{CLAIMS}/{language}.toml"
        if file not in there:
            message = f'there is no table of claims in "{language}", so its texts are not looked through for any.'
            hint = "Read them yourself against the rules where you sell, or write this file after the English one."
            yield Problem(Place(f"templates/{file}"), "language-partly", message, hint)


def _label_words(listings: Listings) -> Iterator[Problem]:
    """Every language of the labels has its words and cautions, cards are in the shop's own; their channel is there.

    So has every language of a printed price list.
    """
    shop = listings.catalog.shop
    labels, cards, reported = shop.settings.labels, shop.settings.cards, set(listings.problems)
    languages = dict.fromkeys((labels.languages if labels else ()) or (shop.settings.language,))
    if labels or cards:
        for language in languages:
            yield from (fault for fault in voice_in(shop, language)[1] if fault not in reported)
    for channel in (channel for channel in shop.channels if "printed list" in channel.make):
        faults = print_words(shop.templates, channel.language or shop.settings.language)[1]
        yield from (fault for fault in faults if fault not in reported)
    known = {name for channel in shop.channels for name in (channel.key, channel.name)}
    if cards and cards.channel and cards.channel not in known:
        message = f'there is no channel "{cards.channel}".'
        hint = f"Write {listed([channel.key for channel in shop.channels])}, or leave it out."
        yield Problem(Place(SHOP, key=("cards", "channel")), "unknown-code", message, hint)
