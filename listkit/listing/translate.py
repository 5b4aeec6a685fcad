"""A shop in another language: the same facts, with the names that languages/<language>.toml gives.

Pure. What has no name there keeps its own, and the checks tell it; so every writer may take translated facts as they
are. Codes, figures, ingredients and files stay.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

from listkit.compute.build import option_says
from listkit.compute.catalog import Choice, Piece, SetFacts, Variant
from listkit.compute.cautions import entries_of
from listkit.listing.declared import Cautions, parse_cautions
from listkit.listing.formats import Formats, locale_of
from listkit.listing.words import Form, Words, base_language, parse_words, paths_of
from listkit.model.gift_set import Fixed, GiftSet, Option, PhotoNote, Slot, VariantNote
from listkit.model.item import Item
from listkit.model.settings import Season
from listkit.model.shop import Photo, SetFolder, Shop
from listkit.model.translation import FormWords, TranslatedSet, Translation
from listkit.problem import FieldError, Place, Problem

FOLDER = "languages"


def file_of(shop: Shop, language: str) -> str:
    """Return where the words of a language stand: the file that there is, else the one to write."""
    there = dict(shop.translations)
    tag = next((tag for tag in (language, base_language(language)) if tag in there), base_language(language))
    return f"{FOLDER}/{tag}.toml"


def translation_of(shop: Shop, language: str) -> Translation | None:
    """Return the words of a language, those of its country over those of its base; None where there are none."""
    there = dict(shop.translations)
    found = [there[tag] for tag in dict.fromkeys((base_language(language), language)) if tag in there]
    if not found:
        return None
    merged = found[0]
    for over in found[1:]:
        tables = {name: {**getattr(merged, name), **getattr(over, name)} for name in type(over).model_fields}
        merged = merged.model_copy(update=tables)
    return merged


def is_foreign(shop: Shop, language: str) -> bool:
    """Whether texts in a language need other names than the shop's own."""
    return base_language(language) != base_language(shop.settings.language)


@dataclass(slots=True)
class Translator:
    """Gives things of a shop the names of one language; each item once."""

    words: Translation
    _items: dict[str, Item] = field(default_factory=dict)

    def item(self, item: Item) -> Item:
        """Return an item with its name, form, scent, container and own cautions in the language."""
        if item.code not in self._items:
            words = self.words
            changes = {
                "name": words.items.get(item.code, item.name),
                "form": _form(words.forms, item.form),
                "scent": words.scents.get(item.scent, item.scent),
                "container": _form(words.containers, item.container),
                "cautions": tuple(words.cautions.get(entry, entry) for entry in item.cautions),
            }
            self._items[item.code] = item.model_copy(update=changes)
        return self._items[item.code]

    def season(self, name: str) -> str:
        """Return a season's name in the language."""
        return self.words.seasons.get(name, name)

    def shop(self, shop: Shop) -> Shop:
        """Return the shop with its items and its seasons' pictures; its sets stay as they are."""
        photos = tuple((self.season(name), photo) for name, photo in shop.season_photos)
        return replace(shop, items=tuple(self.item(item) for item in shop.items), season_photos=photos)

    def facts(self, facts: SetFacts) -> SetFacts:
        """Return a set with all its variants in the language."""
        own = self.words.sets.get(facts.code) or TranslatedSet(name=facts.name)
        gift_set = self._gift_set(facts.source.gift_set, own)
        season = facts.season and Season.model_copy(facts.season, update={"name": self.season(facts.season.name)})
        variants = _Variants(self, facts.source.gift_set, gift_set)
        return replace(
            facts,
            source=self._folder(facts.source, gift_set, own),
            items=tuple(self.item(item) for item in facts.items),
            season=season,
            variants=tuple(variants.of(one) for one in facts.variants),
        )

    def _folder(self, source: SetFolder, gift_set: GiftSet, own: TranslatedSet) -> SetFolder:
        photos = tuple(replace(photo, alt=_alt(photo, own)) for photo in source.photos)
        return replace(source, gift_set=gift_set, photos=photos)

    def _gift_set(self, gift_set: GiftSet, own: TranslatedSet) -> GiftSet:
        changes = {
            "name": own.name,
            "theme": own.theme or gift_set.theme,
            "title": own.title,
            "keywords": own.keywords or gift_set.keywords,
            "category": own.category or gift_set.category,
            "season": self.season(gift_set.season),
            "contents": tuple(entry if isinstance(entry, Fixed) else _slot(entry, own) for entry in gift_set.contents),
            "variants": tuple(_variant_note(note, own) for note in gift_set.variants),
            "photos": tuple(_note(note, own) for note in gift_set.photos),
        }
        return gift_set.model_copy(update=changes)

    def grammar(self, wording: Words) -> Words:
        """Return the language's words with what is said of single forms and containers there."""
        stated = (*self.words.forms.values(), *self.words.containers.values())
        forms = {one.name.lower(): Form(one.name.lower(), one.one, one.many) for one in stated if one.one or one.many}
        rest = tuple(form for form in wording.forms if form.name not in forms)
        return replace(wording, forms=(*forms.values(), *rest))


@dataclass
class _Variants:
    """Translates variants; pieces and choices that many share are made once."""

    translator: Translator
    before: GiftSet
    after: GiftSet
    pieces: dict[tuple[str, int], Piece] = field(default_factory=dict)
    choices: dict[tuple[str, str], Choice] = field(default_factory=dict)

    def of(self, one: Variant) -> Variant:
        return replace(
            one,
            choices=tuple([self._choice(choice) for choice in one.choices]),
            pieces=tuple([self._piece(piece) for piece in one.pieces]),
        )

    @cached_property
    def _slots(self) -> dict[str, Slot]:
        return {old.slot: new for old, new in zip(self.before.slots, self.after.slots, strict=True)}

    def _choice(self, choice: Choice) -> Choice:
        key = choice.slot, choice.item.code
        if key not in self.choices:
            slot, item = self._slots[choice.slot], self.translator.item(choice.item)
            option = next(option for option in slot.choose if option.item == item.code)
            self.choices[key] = Choice(slot.slot, item, option_says(option, item), choice.part)
        return self.choices[key]

    def _piece(self, piece: Piece) -> Piece:
        key = piece.item.code, piece.quantity
        if key not in self.pieces:
            self.pieces[key] = Piece(self.translator.item(piece.item), piece.quantity)
        return self.pieces[key]


def _form(table: dict[str, FormWords], own: str) -> str:
    return table[own].name if own in table else own


def _slot(slot: Slot, own: TranslatedSet) -> Slot:
    """A slot with its name and its options; what is said of an option in the shop's own language is left out."""
    choose: tuple[Option, ...] = tuple(
        option.model_copy(update={"says": own.options.get(option.item, "")}) for option in slot.choose
    )
    return slot.model_copy(update={"slot": own.slots.get(slot.slot, slot.slot), "choose": choose})


def _alt(photo: Photo, own: TranslatedSet) -> str:
    return own.photos.get(photo.name, "")


def _variant_note(note: VariantNote, own: TranslatedSet) -> VariantNote:
    options = {own.slots.get(slot, slot): code for slot, code in note.options.items()}
    return note.model_copy(update={"options": options})


def _note(note: PhotoNote, own: TranslatedSet) -> PhotoNote:
    return note.model_copy(update={"alt": own.photos.get(note.file, "")})


# A language to write in: its words, its cautions, its figures, and the shop's own names in it.
#
# Words and cautions are templates (words/fr.toml, cautions/fr.toml); names of goods are the owner's
# (languages/fr.toml).
# A language without words is a problem with the place that asks for it, and what would help.


@dataclass(frozen=True, slots=True)
class Language:
    """What is needed to write in one language; `translator` is None where the shop's own names are meant."""

    words: Words
    cautions: Cautions
    formats: Formats
    translator: Translator | None = None

    @property
    def tag(self) -> str:
        """The language (BCP 47)."""
        return self.formats.language

    def shop(self, shop: Shop) -> Shop:
        """Return the shop with its items and seasons by their names in the language."""
        return self.translator.shop(shop) if self.translator else shop

    def facts(self, facts: SetFacts) -> SetFacts:
        """Return a set in the language."""
        return self.translator.facts(facts) if self.translator else facts


def read_language(shop: Shop, tag: str, asked_by: Place) -> tuple[Language | None, tuple[Problem, ...]]:
    """Return what is needed to write in a language, or None and why not.

    Args:
        shop: its templates hold the words, its translations the names.
        tag: BCP 47.
        asked_by: where the language is named, which is where a language without words is told.
    """
    texts, sentences = _texts(shop, "words", tag), _texts(shop, "cautions", tag)
    absent = tuple(folder for folder, found in (("words", texts), ("cautions", sentences)) if not found)
    if absent:
        return None, (_absent(shop, tag, absent, asked_by),)
    words, problems = parse_words(tag, texts)
    cautions, more = parse_cautions(sentences)
    try:
        locale_of(tag)
    except FieldError as fault:
        more += (Problem(asked_by, "language-missing", fault.message, fault.hint),)
    if problems or more or words is None or cautions is None:
        return None, (*problems, *more)
    translation = translation_of(shop, tag)
    translator = Translator(translation) if translation else None
    cautions = replace(cautions, entries=_entries(shop, translator))
    words = translator.grammar(words) if translator else words
    return Language(words, cautions, Formats(tag, shop.settings.currency), translator), ()


def shipped(shop: Shop) -> tuple[str, ...]:
    """Return the languages that texts can be written in, those of single countries left out."""
    there = {path for path, _ in shop.templates.texts}
    names = (path.removeprefix("words/").removesuffix(".toml") for path in there if path.startswith("words/"))
    return tuple(sorted(name for name in names if "-" not in name and f"cautions/{name}.toml" in there))


def _texts(shop: Shop, folder: str, tag: str) -> tuple[tuple[str, str], ...]:
    """Return path and text of a language's files in a folder of templates, base first."""
    there = dict(shop.templates.texts)
    return tuple((path, there[path]) for path in paths_of(folder, tag) if path in there)


def _absent(shop: Shop, tag: str, folders: tuple[str, ...], asked_by: Place) -> Problem:
    """Return the problem of a language without words, told where it is asked for."""
    there = " and ".join(f'"{name}"' for name in shipped(shop))
    files = " and ".join(f"templates/{folder}/{base_language(tag)}.toml" for folder in folders)
    message = f'listkit has no words in "{tag}" to write with; it has {there}.'
    hint = f"Write one of these, or put words of your own into {files} of the shop folder, after ours."
    return Problem(asked_by, "language-missing", message, hint)


def _entries(shop: Shop, translator: Translator | None) -> dict[str, tuple[str, ...]]:
    """Return each item's cautions, chosen by the words of the owner's own sheet, with her sentences translated."""
    own = translator.words.cautions if translator else {}
    return {
        item.code: tuple(own.get(entry, entry) for entry in entries_of(item, shop.settings.silenced))
        for item in shop.items
    }
