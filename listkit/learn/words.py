"""What a heading may stand for, and how it is said: the meanings here, their words in `templates/headings/`.

A sheet and a sample share the words of [both]; each has its own besides, since a price in a sheet may be a cost, and
in a sample it is what buyers pay. A word with "?" behind it is used for other things as well: alone it is never sure.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from listkit.learn.folding import FILLERS, folded, words_of
from listkit.learn.languages import SHIPPED


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing that a heading may stand for.

    `item` names a field of the items table, `feed` one of FIELDS; either is "" where there is none.
    """

    name: str
    item: str = ""
    feed: str = ""


_BOTH: Final = {
    "code": "sku", "name": "name", "net": "netContents", "retail": "price", "cost": "fullCost", "weight": "weight",
    "shelf life": "shelfLife", "on hand": "inventoryLevel", "gtin": "gtin", "ingredients": "ingredients",
    "cautions": "cautions", "status": "availability", "tax": "includedTax",
}  # fmt: skip
_ITEMS: Final = (
    "form", "scent", "container", "size", "shape", "upright", "fragile", "foams", "rinse off", "from age", "larger",
    "after opening",
)  # fmt: skip
_FEEDS: Final = {
    "wholesale": "wholesalePrice", "width": "width", "depth": "depth", "height": "height", "title": "title",
    "description": "description", "plain text": "plainDescription", "keywords": "keywords", "image": "image",
    "alt": "alt", "url": "url", "group": "inProductGroupWithID", "set": "setName", "theme": "theme", "slot": "slot",
    "choice": "choice", "contents": "contents", "brand": "brand", "category": "category", "currency": "priceCurrency",
    "valid until": "priceValidUntil", "starts": "availabilityStarts", "ends": "availabilityEnds",
    "parcel length": "parcelLength", "parcel width": "parcelWidth", "parcel height": "parcelHeight",
    "parcel weight": "parcelWeight", "chargeable weight": "chargeableWeight", "volumetric weight": "volumetricWeight",
    "lowest": "lowestPrice", "highest": "highestPrice", "kept": "kept", "season": "season",
    "box": "box", "sellable": "inStock", "live": "inStock", "can make": "canMake", "language": "language",
    "country": "country", "suggested retail": "suggestedRetail", "prior price": "priorPrice", "care": "care",
    "allergens": "fragranceAllergens", "measure price": "pricePerMeasure",
}  # fmt: skip
_NEITHER: Final = ("length", "diameter", "notes", "supplier", "batch", "row", "changed")
MEANINGS: Final[dict[str, Meaning]] = {
    **{name: Meaning(name, name, feed) for name, feed in _BOTH.items()},
    **{name: Meaning(name, name) for name in _ITEMS},
    **{name: Meaning(name, "", feed) for name, feed in _FEEDS.items()},
    **{name: Meaning(name) for name in _NEITHER},
}
"""All that headings may stand for, by the key that the language files call it by."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """Folded words and what they stand for; a weak one is used for other things as well."""

    words: tuple[str, ...]
    meaning: Meaning
    weak: bool


# A heading may be put together from a thing and what of it: "LENGTH_OF_PARCEL", "Höhe (Paket)". Each row: the meaning,
# the two parts that make it, and parts that may stand beside them; "?" as in the files. Only in samples: an owner's
# sheet has no parcels.
_PUT_TOGETHER: Final = (
    ("parcel length", "parcel", "length", "box"),
    ("parcel width", "parcel", "width", "box"),
    ("parcel height", "parcel", "height", "box"),
    ("parcel weight", "parcel", "weight", "box"),
    ("width", "box", "width", ""),
    ("height", "box", "height", ""),
    ("depth", "box", "depth", ""),
    ("alt", "picture", "caption", "front further"),
    ("image", "picture", "address", "front further"),
    ("image", "picture", "front", ""),
    ("image", "picture", "further", ""),
    ("group", "parent", "code", "goods"),
    ("group", "parent", "goods", ""),
    ("group", "set", "code", ""),
    ("code", "own", "code", "goods"),
    ("code?", "code", "goods", ""),
    ("code?", "supplier", "code", "goods"),
    ("contents", "content", "set", ""),
    ("contents", "content", "box", ""),
    ("theme", "single", "sentence", "text"),
    ("slot", "option", "name", ""),
    ("choice", "option", "value", ""),
    ("slot?", "own", "option", ""),
    ("choice?", "own", "value", ""),
    ("starts", "sale", "start", "date"),
    ("starts", "start", "date", "sale"),
    ("ends", "sale", "end", "date"),
    ("ends", "end", "date", "sale"),
    ("valid until?", "price", "end", "date"),
    ("highest?", "price", "end", ""),
    ("keywords", "search", "word", ""),
    ("on hand", "stock", "count", "left"),
    ("on hand", "stock", "left", ""),
    ("on hand", "count", "left", ""),
    ("on hand", "number", "left", ""),
    ("description", "text", "long", ""),
    ("plain text", "text", "short", ""),
    ("prior price", "price", "before", ""),
    ("wholesale", "price", "trade", ""),
    ("suggested retail", "price", "advised", ""),
)


@dataclass(frozen=True, slots=True)
class Pair:
    """A meaning that two words make together, and the words that may stand beside them."""

    meaning: Meaning
    weak: bool
    one: frozenset[str]
    two: frozenset[str]
    beside: frozenset[str]


Where = Literal["sheet", "sample"]


def letters_in(text: str) -> int:
    """Return which letters a text has, as bits; several letters may share one."""
    bits = 0
    for letter in text:
        bits |= 1 << (ord(letter) % 61)
    return bits


class Vocabulary:
    """The words of sheets or of samples, made ready for looking up; `fillers` change nothing beside them."""

    def __init__(self, where: Where) -> None:
        self.where: Final = where
        by_words: dict[tuple[str, ...], list[Phrase]] = {}
        for phrase in _phrases(where):
            by_words.setdefault(phrase.words, []).append(phrase)
        self.by_words = {words: tuple(phrases) for words, phrases in by_words.items()}
        self.longest = max(map(len, self.by_words))
        self.single: dict[str, list[tuple[str, int]]] = {}  # by their first letter, each with its letters
        for phrase_text in sorted({" ".join(words) for words in self.by_words if len(" ".join(words)) > 4}):
            self.single.setdefault(phrase_text[0], []).append((phrase_text, letters_in(phrase_text)))
        self.fillers = FILLERS
        self.pairs: tuple[Pair, ...] = ()
        if where == "sample":
            self.fillers |= folded("small", "written")
            self.pairs = tuple(
                Pair(
                    MEANINGS[name.removesuffix("?")],
                    name.endswith("?"),
                    *(folded("parts", *keys.split()) for keys in (one, two, beside)),
                )
                for name, one, two, beside in _PUT_TOGETHER
            )
        single = {words[0] for words in self.by_words if len(words) == 1}
        parts = folded("parts", *SHIPPED.sections["parts"])
        self.pieces = frozenset(word for word in single | parts | self.fillers if len(word) >= _SHORTEST_PIECE)

    def field(self, meaning: Meaning) -> str:
        """Return the field of ours that a meaning fills here, "" for none."""
        return meaning.item if self.where == "sheet" else meaning.feed

    @lru_cache(maxsize=10_000)  # noqa: B019 - there are two vocabularies, which live as long as the program
    def parted(self, word: str) -> tuple[str, ...]:
        """Return the known words that a long word is put together from, () where it is not: "bestandszahl"."""
        if len(word) < 2 * _SHORTEST_PIECE or word in self.pieces:
            return ()
        for at in range(len(word) - _SHORTEST_PIECE, _SHORTEST_PIECE - 1, -1):
            head = next((word[: at - len(joint)] for joint in _JOINTS if self._is_piece(word[:at], joint)), "")
            if not head:
                continue
            rest = word[at:]
            if rest in self.pieces:
                return head, rest
            if more := self.parted(rest):
                return head, *more
        return ()

    def _is_piece(self, word: str, joint: str) -> bool:
        return word.endswith(joint) and word[: len(word) - len(joint)] in self.pieces


_SHORTEST_PIECE: Final = 4
_JOINTS: Final = ("", "s", "n", "en", "es", "e", "er")
"""What German puts between words that it writes as one."""


def _phrases(where: Where) -> list[Phrase]:
    """Return the phrases of both and of one kind; of two that are alike the one that is not weak."""
    found: dict[tuple[tuple[str, ...], str], Phrase] = {}
    for section in ("both", where):
        for name, said in SHIPPED.sections[section].items():
            for word in said:
                weak, words = word.endswith("?"), words_of(word)
                known = found.get((words, name))
                if words and (known is None or known.weak):
                    found[words, name] = Phrase(words, MEANINGS[name], weak)
    return list(found.values())


ITEMS: Final = Vocabulary("sheet")
"""The words of owners' sheets."""
FEEDS: Final = Vocabulary("sample")
"""The words of samples that places give out."""
OPTIONS: Final = folded("parts", "option")
"""Words for what a buyer chooses."""
FRONT: Final = folded("parts", "front")
FURTHER: Final = folded("parts", "further")
"""Words for the main picture, and for those beside it."""
NAME_WORDS: Final = folded("parts", "name")
VALUE_WORDS: Final = folded("parts", "value")
