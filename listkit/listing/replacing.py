"""Signs and words that a place does not take, replaced before anything is put together: "&" by "and".

What people read is replaced in names, sentences and stories, before it is escaped for HTML or Markdown. Codes,
addresses and the digits of figures stay as they are, and so do the marks of Markdown and the placeholders of a story.
Signs around figures are replaced, as the "£" of "£16.50".
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Final

from listkit.listing.formats import list_text
from listkit.listing.translate import Language, Translator
from listkit.listing.words import Form, Titles, Words
from listkit.model.gift_set import Fixed, GiftSet, Slot
from listkit.model.item import Item
from listkit.model.shop import Photo, Shop
from listkit.model.translation import TranslatedSet, Translation

# An address on the web or of a mailbox, a code with a digit in it, a number.
_KEPT: Final = (
    r"https?://\S+|www\.\S+|[\w.+-]{1,64}@[\w-]{1,64}(?:\.[\w-]{1,64})+"
    r"|(?=[A-Z-]{0,40}\d)[A-Z][A-Z0-9]{0,40}(?:-[A-Z0-9]{1,40})+|\d+(?:[.,:/]\d+)*"
)
_PLACE: Final = re.compile(r"(\{\w+\})")
# Placeholders, addresses of links, marks. Each stops at a bracket that opens another, so that no text is walked twice.
_STORY: Final = re.compile(
    r"(\{\{[^{}]*\}\}|\{%[^{}]*%\}|\{#[^{}]*#\}|\]\([^()\[\]]*\)|<[^<>\s]+>"
    r"|^[ \t]*(?:[-+*>]|#+|\d+[.)])[ \t]|[*_`\\]+)",
    re.MULTILINE,
)
_MARKUP: Final = frozenset("<>&*_`[]\\")
_SEPARATORS: Final = (", ", " - ", " / ", " ")


@dataclass(frozen=True)
class Signs:
    """What a place replaces, longer ones before those that are part of them."""

    pairs: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, table: Mapping[str, str]) -> "Signs":
        """Return the signs of a channel's `replace`."""
        return cls(tuple(sorted(table.items(), key=lambda pair: (-len(pair[0]), pair[0]))))

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        return re.compile(rf"(?:{_KEPT})|({'|'.join(re.escape(sign) for sign, _ in self.pairs)})")

    @cached_property
    def _instead(self) -> dict[str, str]:
        return dict(self.pairs)

    @cached_property
    def of_ours(self) -> "Signs":
        """The signs that are written around names and figures, as in "2 × 25 g" and "£27.00".

        None of these is written instead of another, or it would be replaced twice; and as texts are escaped by now,
        neither side of a pair has a mark of HTML or Markdown.
        """
        instead = "".join(text for _, text in self.pairs)
        return Signs(
            tuple(
                (sign, text)
                for sign, text in self.pairs
                if _is_ours(sign) and sign not in instead and not _MARKUP.intersection(text)
            )
        )

    def text(self, text: str) -> str:
        """Return words with every sign replaced.

        >>> Signs.of({"&": "and", ".": ""}).text("Oat & Co., 4.5 oz, at www.oat.example/?a&b")
        'Oat and Co, 4.5 oz, at www.oat.example/?a&b'
        """
        if not self.pairs:
            return text
        return self._pattern.sub(lambda sign: self._instead[sign[1]] if sign[1] else sign[0], text)

    def texts(self, texts: tuple[str, ...]) -> tuple[str, ...]:
        """Return several texts with every sign replaced."""
        return tuple([self.text(text) for text in texts]) if self.pairs else texts

    def story(self, text: str) -> str:
        """Return a story, its placeholders, addresses and marks as they are."""
        return self._around(_STORY, text)

    def sentence(self, text: str) -> str:
        """Return a sentence of ours with its places as they are."""
        return self._around(_PLACE, text)

    def _around(self, kept: re.Pattern[str], text: str) -> str:
        """Return a text with every sign replaced but in what `kept` finds, in its one group."""
        return "".join([part if at % 2 else self.text(part) for at, part in enumerate(kept.split(text))])


def _is_ours(sign: str) -> bool:
    """Whether a sign stands for money, or is a sign beyond ASCII: "£", "$", "×", " – "; not a letter.

    >>> [_is_ours(sign) for sign in ("£", "$", " – ", "&", "-", "é", "and")]
    [True, True, True, False, False, False, False]
    """
    kinds = [(letter, unicodedata.category(letter)) for letter in sign.strip() or sign]
    return all(kind == "Sc" or (kind[0] in "PSZ" and not letter.isascii()) for letter, kind in kinds)


NO_SIGNS: Final = Signs(())


def in_words_of(language: Language, table: Mapping[str, str], forbidden: str) -> Language:
    """Return a language as one place takes it: `table` replaced, and none of `forbidden` in titles of our making."""
    words = _titled(language.words, forbidden)
    if not table:
        return language if words is language.words else replace(language, words=words, place=(("", forbidden),))
    signs = Signs.of(table)
    cautions = replace(
        language.cautions,
        sentences=tuple((key, signs.text(text)) for key, text in language.cautions.sentences),
        entries={
            code: tuple(signs.text(entry) if " " in entry else entry for entry in entries)
            for code, entries in language.cautions.entries.items()
        },
    )
    return replace(
        language,
        words=_replaced_words(words, signs),
        cautions=cautions,
        replacer=_Replacer(Translation(), words.naming, signs=signs),
        place=(*signs.pairs, ("", forbidden)),
    )


def _titled(wording: Words, forbidden: str) -> Words:
    """Return words whose titles join their parts without a forbidden sign, where there is another way to join them."""
    titles = wording.titles
    if set(titles.together) & set(forbidden):
        together = list_text(("\0", "\1"), wording.language).strip("\0\1").strip()
        titles = replace(titles, together=together)
    if set(titles.chosen.replace("{head}", "").replace("{choices}", "")) & set(forbidden):
        between = next((each for each in _SEPARATORS if not set(each.strip()) & set(forbidden)), " ")
        titles = replace(titles, chosen=f"{{head}}{between}{{choices}}")
    return wording if titles is wording.titles else replace(wording, titles=titles)


def _replaced_words(wording: Words, signs: Signs) -> Words:
    titles = _replaced(wording.titles, signs)
    assert isinstance(titles, Titles)
    tables = {name: _replaced(getattr(wording, name), signs) for name in ("sentences", "headings", "alt", "net")}
    pairs = tuple((key, signs.sentence(text)) for key, text in wording.ingredients.origins)
    return replace(
        wording,
        titles=replace(titles, shared=wording.titles.shared),
        ingredients=replace(_replaced(wording.ingredients, signs), origins=pairs),
        counted=tuple(
            (noun, tuple((number, signs.sentence(text)) for number, text in phrases))
            for noun, phrases in wording.counted
        ),
        forms=tuple(Form(*map(signs.text, (form.name, form.one, form.many))) for form in wording.forms),
        shots=tuple((shot, signs.sentence(text)) for shot, text in wording.shots),
        **tables,
    )


def _replaced(table: Any, signs: Signs) -> Any:  # noqa: ANN401 (a table of words)
    """Return a table of words with those of its entries replaced that are one text."""
    texts = {name: getattr(table, name) for name in type(table).__dataclass_fields__}
    return replace(table, **{name: signs.sentence(text) for name, text in texts.items() if isinstance(text, str)})


@dataclass(slots=True)
class _Replacer(Translator):
    """Gives things of a shop the names that a place takes."""

    signs: Signs = NO_SIGNS

    def item(self, item: Item) -> Item:
        """Return an item with what people read of it replaced; its ingredients are where they are printed."""
        if item.code not in self._items:
            names = ("name", "form", "scent", "container")
            changes: dict[str, object] = {name: self.signs.text(getattr(item, name)) for name in names}
            self._items[item.code] = item.model_copy(update=changes)
        return self._items[item.code]

    def text(self, text: str) -> str:
        """Return words with every sign replaced."""
        return self.signs.text(text)

    def story(self, text: str) -> str:
        """Return the source of a story with every sign replaced."""
        return self.signs.story(text)

    def made(self, text: str) -> str:
        """Return a text of our making with the signs in it replaced that we write around names and figures."""
        return self.signs.of_ours.text(text)

    def shop(self, shop: Shop) -> Shop:
        """Return the shop with its name, its items and its seasons' pictures as the place takes them."""
        settings = shop.settings.model_copy(update={"name": self.signs.text(shop.settings.name)})
        return replace(Translator.shop(self, shop), settings=settings)

    def season(self, name: str) -> str:
        """Return a season's name as the place takes it."""
        return self.signs.text(name)

    def _photo(self, photo: Photo, _translated: TranslatedSet) -> Photo:
        return replace(photo, alt=self.signs.text(photo.alt))

    def _gift_set(self, gift_set: GiftSet, _translated: TranslatedSet) -> GiftSet:
        changes: dict[str, object] = {
            name: self.signs.text(getattr(gift_set, name)) for name in ("name", "theme", "title", "category", "season")
        }
        notes = [
            note.model_copy(update={"options": {self.signs.text(slot): code for slot, code in note.options.items()}})
            for note in gift_set.variants
        ]
        photos = [note.model_copy(update={"alt": self.signs.text(note.alt)}) for note in gift_set.photos]
        changes |= {
            "keywords": self.signs.texts(gift_set.keywords),
            "contents": tuple(self._entry(entry) for entry in gift_set.contents),
            "variants": tuple(notes),
            "photos": tuple(photos),
        }
        return gift_set.model_copy(update=changes)

    def _entry(self, entry: Fixed | Slot) -> Fixed | Slot:
        if isinstance(entry, Fixed):
            return entry
        choose = [option.model_copy(update={"says": self.signs.text(option.says)}) for option in entry.choose]
        return entry.model_copy(update={"slot": self.signs.text(entry.slot), "choose": tuple(choose)})
