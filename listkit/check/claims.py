"""Checks of claims: words that make a medicine of soap, need a document behind them, or are better said otherwise.

The words are those of templates/claims/<language>.toml; texts in a language without such a table are not looked at.
listkit reminds; what may be said is decided by the rules in force where things are sold.
"""

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Final

from listkit.check.alike import LONGEST, Passage, folded, passages, typed
from listkit.check.claims_match import Find, Search, find_claims, search, steps_for
from listkit.check.claims_table import FOLDER, ClaimTable, parse_claims
from listkit.check.places import SHOP, CheckContext, item_place, offered_alone_too, sells_like_eu
from listkit.compute.catalog import Catalog
from listkit.fields import FIELDS
from listkit.listing.listings import Listings
from listkit.listing.words import base_language
from listkit.model.fields import Status
from listkit.model.item import Item
from listkit.model.labels import Evidence
from listkit.model.shop import Shop
from listkit.problem import KeyPath, Level, Place, Problem

# Every text that goes before the public, with its place and language: what the search for claims looks through.
#
# Names, titles, themes, stories, keywords, options, words for photos; items; cautions in the owner's own words; wording
# and layouts; what is typed into columns of a feed.

_WORDING: Final = ("listing/", "words/")
_REMINDERS: Final = "cautions/"


def public_texts(catalog: Catalog) -> Iterator[Passage]:
    """Yield every text of what is offered, in the order of the shop's files."""
    shop = catalog.shop
    language = shop.settings.language
    yield Passage("shop.toml", ("name",), language, shop.settings.name)
    for at, season in enumerate(shop.settings.seasons):
        yield Passage("shop.toml", ("season", at, "name"), language, season.name)
    for facts in offered_alone_too(catalog):
        yield from passages(facts, language)
    yield from _items(shop)
    yield from _translations(shop)
    yield from _columns(shop)
    yield from _templates(shop)


def reminders(catalog: Catalog) -> Iterator[Passage]:
    """Yield the cautions in the owner's own words; they remind, so only what makes a medicine is looked for.

    They must be able to name an itch or a disease, so a word alone is none there.
    """
    shop = catalog.shop
    for item in (item for item in shop.items if item.status is not Status.CLOSED):
        sentences = "; ".join(caution for caution in item.cautions if " " in caution)
        if sentences:
            yield _cell(shop, item, "cautions", sentences)
    for path, text in shop.templates.texts:
        if path.startswith(_REMINDERS):
            yield Passage(f"templates/{path}", (), _language(path), typed(text), story=True)


def _items(shop: Shop) -> Iterator[Passage]:
    for item in (item for item in shop.items if item.status is not Status.CLOSED):
        for field, text in (("name", shop.naming.of(item)), ("scent", item.scent), ("container", item.container)):
            if text:
                yield _cell(shop, item, field, text)


def _cell(shop: Shop, item: Item, field: str, text: str) -> Passage:
    """Return a cell of the items table as a passage."""
    place = item_place(shop, item, field)
    return Passage(place.file, place.key, shop.settings.language, text, row=item.code, column=place.column)


def _translations(shop: Shop) -> Iterator[Passage]:
    """Yield what the goods are called in other languages, where a channel speaks them."""
    for language, translation in shop.translations:
        file = f"languages/{language}.toml"
        named: list[tuple[KeyPath, str]] = [(("items", code), name) for code, name in translation.items.items()]
        named += [(("scents", scent), name) for scent, name in translation.scents.items()]
        for code, gift_set in translation.sets.items():
            texts = {"name": gift_set.name, "title": gift_set.title, "theme": gift_set.theme}
            named += [(("sets", code, key), text) for key, text in texts.items() if text]
            named += [(("sets", code, "keywords", at), keyword) for at, keyword in enumerate(gift_set.keywords)]
        yield from (Passage(file, key, language, typed(text)) for key, text in named)


def _columns(shop: Shop) -> Iterator[Passage]:
    for channel in shop.channels:
        language = channel.language or shop.settings.language
        for at, column in enumerate(channel.columns):
            if column.value not in FIELDS:
                file = channel.place().file
                yield Passage(file, ("column", at, "value"), language, typed(column.value))


def _templates(shop: Shop) -> Iterator[Passage]:
    for path, text in shop.templates.texts:
        if path.startswith(_WORDING):
            language = _language(path) if path.startswith("words/") else shop.settings.language
            yield Passage(f"templates/{path}", (), language, typed(text), story=True)


def _language(path: str) -> str:
    """Return the language that a file of words is called by."""
    return path.rpartition("/")[2].partition(".")[0]


MEDICINE, EVIDENCE, REWORD = "claim-medicine", "claim-evidence", "claim-reword"
_SAID: Final = {
    MEDICINE: "makes a medicine of it",
    EVIDENCE: "needs a document behind it",
    REWORD: "is better said otherwise",
}


_TOO_MUCH: Final = (
    "its words, or those of what comes before it, begin so many phrases of the table of claims that from here on no "
    "claims are looked for."
)


def claims(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Each family of claims once a text, with why, whose rule it is, and what to write instead."""
    shop = listings.catalog.shop
    tables = tables_of(shop)
    if not tables:
        return
    held = [document for document in shop.settings.evidence if not document.until or document.until >= context.today]
    where = "eu" if sells_like_eu(shop) else ""
    yield from _strange(shop, tables.values())
    refused = {each.place.file for each in listings.problems if each.level is Level.MUST_FIX}
    spent = words = 0
    for passage in chain(public_texts(listings.catalog), reminders(listings.catalog)):
        table = tables.get(passage.language) or tables.get(base_language(passage.language))
        reminder = passage.key == ("cautions",) or passage.file.startswith("templates/cautions/")
        searched = search(passage.text, table, where) if table else Search((), 0)
        if len(passage.text) > LONGEST and passage.file not in refused:
            message = f"only its first {LONGEST:,} letters were looked at."
            yield Problem(passage.place(0), "not-looked-for", message, "Is it the text that is meant?")
        spent, words = spent + searched.steps, words + searched.words
        if searched.cut or spent > steps_for(words):
            yield Problem(passage.place(0), "not-looked-for", _TOO_MUCH, "Is it the text that is meant?")
            return
        for find in searched.finds:
            code = find.family.code
            promised = code == MEDICINE and " " in passage.text[find.start : find.end]
            if (promised or not reminder) and not (code == EVIDENCE and _is_held(passage, find, held)):
                yield _problem(passage, find)


def tables_of(shop: Shop) -> dict[str, ClaimTable]:
    """Return the tables by language: ours of the shop's languages, and the owner's, but not those that are faulty."""
    return {language: table for language, table in _read(shop) if isinstance(table, ClaimTable)}


def _read(shop: Shop) -> Iterator[tuple[str, ClaimTable | ValueError]]:
    spoken = languages_of(shop)
    for path, text in shop.templates.texts:
        language = _language(path)
        if path == f"{FOLDER}/{language}.toml" and (language in spoken or path in shop.templates.owners):
            try:
                yield language, parse_claims(text)
            except ValueError as fault:
                yield language, fault


def languages_of(shop: Shop) -> frozenset[str]:
    """Return the languages that something of a shop is written in, each with its base."""
    labels = shop.settings.labels
    spoken = {
        shop.settings.language,
        *(channel.language for channel in shop.channels if channel.language),
        *(labels.languages if labels else ()),
        *(language for language, _ in shop.translations),
        *(story.language for each in shop.sets for story in each.stories if story.language),
        *(story.language for each in shop.singles for story in each.stories if story.language),
    }
    return frozenset((*spoken, *map(base_language, spoken)))


def _is_held(passage: Passage, find: Find, held: Iterable[Evidence]) -> bool:
    """Whether a document on file is for the family of a find, or for its very words."""
    claim = folded(passage.text[find.start : find.end]).replace("-", " ")
    return any(
        document.claim == find.family.key or folded(document.claim).replace("-", " ") == claim for document in held
    )


def _problem(passage: Passage, find: Find) -> Problem:
    family = find.family
    words = " ".join(passage.text[find.start : find.end].split())
    seen = passage.around(find.start, find.end)
    times = f" ({find.times} times here)" if find.times > 1 else ""
    message = f'"{words}"{times} {_SAID[family.code]}: {family.why} ({family.source}). It stands in "{seen}".'
    hint = family.write
    if family.code == EVIDENCE:
        hint += f' Or name the document in shop.toml: [[evidence]] claim = "{family.key}".'
    return Problem(passage.place(find.start), family.code, message, hint)


def _strange(shop: Shop, tables: Iterable[ClaimTable]) -> Iterator[Problem]:
    """Yield tables that cannot be read, and evidence of what no document can bear out."""
    for language, fault in _read(shop):
        if isinstance(fault, ValueError):
            place = Place(f"templates/{FOLDER}/{language}.toml")
            hint = "Mend it after the one in English, or take it out."
            yield Problem(place, "template-fault", f"it is no table of claims: {fault}.", hint)
    families = {family.key: family for table in tables for family in table.families}
    for at, document in enumerate(shop.settings.evidence):
        claim, family = document.claim, families.get(document.claim)
        families_said = [family] if family else [find.family for table in tables for find in find_claims(claim, table)]
        if all(family.code != EVIDENCE for family in families_said):
            message = f'"{claim}" is no claim that a document could bear out.'
            known = ", ".join(key for key, family in families.items() if family.code == EVIDENCE)
            yield Problem(Place(SHOP, key=("evidence", at, "claim")), EVIDENCE, message, f"Write one of {known}.")
