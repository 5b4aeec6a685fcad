"""Signs that nobody sees in names and choices: without width, or turning the direction of writing.

They make two names out of one, or let one be read as another. Where a script needs them (Persian and Indic joiners,
marks of direction beside Hebrew and Arabic, spaces without width in Thai and Khmer, joined pictograms) they are left
alone. The Unicode Standard, categories Cf, Zl and Zp.
"""

import unicodedata
from collections.abc import Iterator
from typing import Final

from listkit.check.context import CheckContext
from listkit.check.places import item_place, set_place
from listkit.compute.catalog import SetFacts
from listkit.listing.listings import Listings
from listkit.model.gift_set import Slot
from listkit.problem import Place, Problem

_JOINERS: Final = "\u200c\u200d"
_NO_WIDTH: Final = "\u200b"
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
        yield from _told(getattr(own, key), set_place(facts, key))
    for at, word in enumerate(own.keywords):
        yield from _told(word, set_place(facts, "keywords", at))
    for at, entry in enumerate(own.contents):
        if isinstance(entry, Slot):
            yield from _told(entry.slot, set_place(facts, "contents", at, "slot"))
            for number, option in enumerate(entry.choose):
                yield from _told(option.says, set_place(facts, "contents", at, "choose", number))


def _told(text: str, place: Place) -> Iterator[Problem]:
    """Yield the first sign of a text that nobody sees."""
    if text.isascii():
        return
    at = next((at for at, sign in enumerate(text) if _unseen(sign) and not _needed(text, at)), None)
    if at is None:
        return
    seen = "".join(sign for sign in text if not _unseen(sign))
    before = "".join(sign for sign in text[:at] if not _unseen(sign))[-_SHOWN:]
    where = f'behind "{before}"' if before.strip() else f'before "{seen[:_SHOWN]}"'
    sign = f"U+{ord(text[at]):04X}, {unicodedata.name(text[at], 'a control sign').lower()}"
    yield Problem(place, "letter-unseen", f"{where} stands a sign that nobody sees ({sign}).", f'Type "{seen}" anew.')


def _unseen(sign: str) -> bool:
    return unicodedata.category(sign) in {"Cf", "Zl", "Zp"}


def _needed(text: str, at: int) -> bool:
    """Whether the script around asks for the sign."""
    sign, before = text[at], text[at - 1] if at else ""
    if sign in _MARKS:
        return any(unicodedata.bidirectional(letter) in {"R", "AL"} and letter not in _MARKS for letter in text)
    eastern = before >= _EAST_OF and ord(before) not in _PUNCTUATION if before else False
    tag = 0xE0020 <= ord(sign) <= 0xE007F  # the letters of a flag
    return eastern and (sign in _JOINERS or tag or (sign == _NO_WIDTH and unicodedata.category(before) in {"Lo", "Mn"}))
