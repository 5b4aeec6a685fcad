"""Checks of claims: words that make a medicine of soap, need a document behind them, or are better said otherwise.

The words are those of templates/claims/<language>.toml; texts in a language without such a table are not looked at.
listkit reminds; what may be said is decided by the rules in force where things are sold.
"""

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Final

from listkit.check.alike import folded
from listkit.check.claims_match import Find, find_claims
from listkit.check.claims_table import FOLDER, ClaimTable, parse_claims
from listkit.check.context import CheckContext
from listkit.check.passages import Passage
from listkit.check.places import SHOP
from listkit.check.public_texts import public_texts, reminders
from listkit.listing.listings import Listings
from listkit.listing.words import base_language
from listkit.model.labelling import Evidence
from listkit.model.shop import Shop
from listkit.problem import Place, Problem

MEDICINE, EVIDENCE, REWORD = "claim-medicine", "claim-evidence", "claim-reword"
# Where the rules of the European Union on cosmetics, or rules made after them, are in force: the member states, the
# European Economic Area, the United Kingdom, Switzerland. From memory.
LIKE_EU: Final = frozenset(
    (
        *("AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU", "IE", "IT", "LT", "LU"),
        *("LV", "MT", "NL", "PL", "PT", "RO", "SE", "SI", "SK", "IS", "LI", "NO", "GB", "CH"),
    )
)
_SAID: Final = {
    MEDICINE: "makes a medicine of it",
    EVIDENCE: "needs a document behind it",
    REWORD: "is better said otherwise",
}


def claims(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Each family of claims once a text, with why, whose rule it is, and what to write instead."""
    shop = listings.catalog.shop
    tables = tables_of(shop)
    if not tables:
        return
    held = [one for one in shop.settings.evidence if one.until is None or one.until >= context.today]
    where = "eu" if LIKE_EU & {shop.settings.country, *(channel.country for channel in shop.channels)} else ""
    yield from _strange(shop, tables.values())
    for passage in chain(public_texts(listings.catalog), reminders(listings.catalog)):
        table = tables.get(passage.language) or tables.get(base_language(passage.language))
        reminder = passage.key == ("cautions",) or passage.file.startswith("templates/cautions/")
        for find in find_claims(passage.text, table, where=where) if table else ():
            code = find.family.code
            if (code == MEDICINE or not reminder) and not (code == EVIDENCE and _is_held(passage, find, held)):
                yield _problem(passage, find)


def tables_of(shop: Shop) -> dict[str, ClaimTable]:
    """Return the tables of claims by language; one that cannot be read is left out (see `_strange`)."""
    return {language: table for language, table in _read(shop) if isinstance(table, ClaimTable)}


def _read(shop: Shop) -> Iterator[tuple[str, ClaimTable | ValueError]]:
    for path, text in shop.templates.texts:
        folder, _, name = path.partition("/")
        if folder == FOLDER and name.endswith(".toml"):
            try:
                yield name.removesuffix(".toml"), parse_claims(text)
            except ValueError as fault:
                yield name.removesuffix(".toml"), fault


def _is_held(passage: Passage, find: Find, held: Iterable[Evidence]) -> bool:
    words = folded(passage.text[find.start : find.end]).replace("-", " ")
    return any(one.claim == find.family.key or folded(one.claim).replace("-", " ") == words for one in held)


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
    """Tell tables that cannot be read, and evidence of what no document can bear out."""
    for language, fault in _read(shop):
        if isinstance(fault, ValueError):
            place = Place(f"templates/{FOLDER}/{language}.toml")
            hint = "Mend it after the one in English, or take it out."
            yield Problem(place, "template-fault", f"it is no table of claims: {fault}.", hint)
    families = {family.key: family for table in tables for family in table.families}
    for at, one in enumerate(shop.settings.evidence):
        own = families.get(one.claim)
        codes = {own.code} if own else {find.family.code for table in tables for find in find_claims(one.claim, table)}
        if EVIDENCE not in codes:
            message = f'"{one.claim}" is no claim that a document could bear out.'
            known = ", ".join(key for key, family in families.items() if family.code == EVIDENCE)
            yield Problem(Place(SHOP, key=("evidence", at, "claim")), EVIDENCE, message, f"Write one of {known}.")
