"""A shop in another language: the same facts, with the names that languages/<language>.toml gives.

Pure. What has no name there keeps its own, which the checks report; so every writer may take translated facts as they
are. Codes, figures, ingredients and files stay. Words and cautions of a language are templates (words/fr.toml,
cautions/fr.toml); names of goods are the owner's (languages/fr.toml). A language without words is a problem with the
place that asks for it, and what would help.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

from listkit.compute.build import option_says
from listkit.compute.catalog import Choice, Piece, SetFacts, Variant
from listkit.compute.cautions import entries_of, silences_of
from listkit.listing.declared import Cautions, parse_cautions
from listkit.listing.formats import Formats
from listkit.listing.words import Form, Words, base_language, in_measure, parse_words, paths_of
from listkit.model.gift_set import Fixed, GiftSet, Option, Slot
from listkit.model.item import Item
from listkit.model.naming import NAME_FIRST, Naming
from listkit.model.settings import Season
from listkit.model.shop import Photo, Shop
from listkit.model.translation import FormWords, TranslatedSet, Translation
from listkit.problem import FieldError, Place, Problem
from listkit.units.spoken import locale_of

FOLDER = "languages"


def file_of(shop: Shop, language: str) -> str:
    """Return where the words of a language stand: the file that there is, else the one to write."""
    there = dict(shop.translations)
    tag = next((tag for tag in (language, base_language(language)) if tag in there), base_language(language))
    return f"{FOLDER}/{tag}.toml"


def translation_of(shop: Shop, language: str) -> Translation | None:
    """Return the words of a language, those of its country over those of its base; None where there are none."""
    there = dict(shop.translations)
    layers = [there[tag] for tag in dict.fromkeys((base_language(language), language)) if tag in there]
    if not layers:
        return None
    merged = layers[0]
    for over in layers[1:]:
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
    naming: Naming = NAME_FIRST
    _items: dict[str, Item] = field(default_factory=dict)

    def item(self, item: Item) -> Item:
        """Return an item with its name, form, scent, container and own cautions in the language."""
        if item.code not in self._items:
            words = self.words
            changes = {
                "name": words.items.get(item.code, item.name),
                "form": _name_in(words.forms, item.form),
                "scent": words.scents.get(item.scent, item.scent),
                "container": _name_in(words.containers, item.container),
                "cautions": tuple(words.cautions.get(entry, entry) for entry in item.cautions),
            }
            self._items[item.code] = item.model_copy(update=changes)
        return self._items[item.code]

    def text(self, text: str) -> str:
        """Return words that are not translated: as they are."""
        return text

    def story(self, text: str) -> str:
        """Return the source of a story: as it is."""
        return text

    def made(self, text: str) -> str:
        """Return a text of our making: as it is."""
        return text

    def season(self, name: str) -> str:
        """Return a season's name in the language."""
        return self.words.seasons.get(name, name)

    def shop(self, shop: Shop) -> Shop:
        """Return the shop with its items and its seasons' pictures; its sets stay as they are."""
        photos = tuple((self.season(name), photo) for name, photo in shop.season_photos)
        return replace(shop, items=tuple(self.item(item) for item in shop.items), season_photos=photos)

    def facts(self, facts: SetFacts) -> SetFacts:
        """Return a set with all its variants in the language."""
        source = facts.source
        translated = self.words.sets.get(facts.code) or TranslatedSet(name=facts.name)
        if facts.is_single:
            item = self.item(facts.items[0])
            translated = TranslatedSet(name=self.naming.of(item), category=item.form)
        gift_set = self._gift_set(source.gift_set, translated)
        photos = tuple(self._photo(photo, translated) for photo in source.photos)
        season = facts.season and Season.model_copy(facts.season, update={"name": self.season(facts.season.name)})
        variants = _Variants(self, source.gift_set, gift_set)
        return replace(
            facts,
            source=replace(source, gift_set=gift_set, photos=photos),
            items=tuple(self.item(item) for item in facts.items),
            season=season,
            variants=tuple(variants.of(variant) for variant in facts.variants),
        )

    def _photo(self, photo: Photo, translated: TranslatedSet) -> Photo:
        return replace(photo, alt=translated.photos.get(photo.name, ""))

    def _gift_set(self, gift_set: GiftSet, translated: TranslatedSet) -> GiftSet:
        slots = translated.slots
        changes = {
            "name": translated.name,
            "theme": translated.theme or gift_set.theme,
            "title": translated.title,
            "keywords": translated.keywords or gift_set.keywords,
            "category": translated.category or gift_set.category,
            "season": self.season(gift_set.season),
            "contents": tuple(
                entry if isinstance(entry, Fixed) else _translated_slot(entry, translated)
                for entry in gift_set.contents
            ),
            "variants": tuple(
                note.model_copy(update={"options": {slots.get(old, old): code for old, code in note.options.items()}})
                for note in gift_set.variants
            ),
            "photos": tuple(
                note.model_copy(update={"alt": translated.photos.get(note.file, "")}) for note in gift_set.photos
            ),
        }
        return gift_set.model_copy(update=changes)

    def grammar(self, wording: Words) -> Words:
        """Return the language's words with what is said of single forms and containers there."""
        stated = (*self.words.forms.values(), *self.words.containers.values())
        forms: dict[str, Form] = {}
        for form in (form for form in stated if form.one or form.many):
            name, known = form.name.lower(), wording.form(form.name)  # what is left out there our own words may have
            forms[name] = Form(name, form.one or known.one, form.many or known.many)
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

    def of(self, variant: Variant) -> Variant:
        return replace(
            variant,
            choices=tuple([self._choice(choice) for choice in variant.choices]),
            pieces=tuple([self._piece(piece) for piece in variant.pieces]),
        )

    @cached_property
    def _slots(self) -> dict[str, Slot]:
        return {old.slot: new for old, new in zip(self.before.slots, self.after.slots, strict=True)}

    @cached_property
    def _options(self) -> dict[str, dict[str, Option]]:
        """The options of each slot by their items, of one that is listed twice the first."""
        return {name: {each.item: each for each in reversed(slot.choose)} for name, slot in self._slots.items()}

    def _choice(self, choice: Choice) -> Choice:
        key = choice.slot, choice.item.code
        if key not in self.choices:
            slot, item = self._slots[choice.slot], self.translator.item(choice.item)
            option = self._options[choice.slot][item.code]
            self.choices[key] = Choice(slot.slot, item, option_says(option, item, self.translator.naming), choice.part)
        return self.choices[key]

    def _piece(self, piece: Piece) -> Piece:
        key = piece.item.code, piece.quantity
        if key not in self.pieces:
            self.pieces[key] = Piece(self.translator.item(piece.item), piece.quantity)
        return self.pieces[key]


def _name_in(table: dict[str, FormWords], name: str) -> str:
    return table[name].name if name in table else name


def _translated_slot(slot: Slot, translated: TranslatedSet) -> Slot:
    """Return a slot with its name and its options; what an option says in the shop's own language is left out."""
    choose: tuple[Option, ...] = tuple(
        option.model_copy(update={"says": translated.options.get(option.item, "")}) for option in slot.choose
    )
    return slot.model_copy(update={"slot": translated.slots.get(slot.slot, slot.slot), "choose": choose})


@dataclass(frozen=True, slots=True)
class Language:
    """What is needed to write in one language; `translator` is None where the shop's own names are meant.

    `replacer` gives names as one place takes them, None where it takes all; `place` is what makes its words its own.
    """

    words: Words
    cautions: Cautions
    formats: Formats
    translator: Translator | None = None
    replacer: Translator | None = None
    place: tuple[tuple[str, str], ...] = ()

    @property
    def key(self) -> tuple[str, tuple[tuple[str, str], ...]]:
        """What texts in these words are kept under."""
        return self.tag, self.place

    @property
    def tag(self) -> str:
        """The language (BCP 47)."""
        return self.formats.language

    def shop(self, shop: Shop) -> Shop:
        """Return the shop with its items and seasons by their names in the language."""
        shop = self.translator.shop(shop) if self.translator else shop
        return self.replacer.shop(shop) if self.replacer else shop

    def text(self, text: str) -> str:
        """Return words of the owner's that no language changes, as the place takes them."""
        return self.replacer.text(text) if self.replacer else text

    def story(self, text: str) -> str:
        """Return the source of a story as the place takes it."""
        return self.replacer.story(text) if self.replacer else text

    def made(self, text: str) -> str:
        """Return a text of our making, whose words are as the place takes them, with the signs that it takes."""
        return self.replacer.made(text) if self.replacer else text

    def stated_facts(self, facts: SetFacts) -> SetFacts:
        """Return a set in the language, with every sign that was written."""
        return self.translator.facts(facts) if self.translator else facts

    def facts(self, facts: SetFacts) -> SetFacts:
        """Return a set in the language as the place takes it."""
        return self.placed_facts(self.stated_facts(facts))

    def placed_facts(self, stated: SetFacts) -> SetFacts:
        """Return a set that is in the language, as the place takes it."""
        return self.replacer.facts(stated) if self.replacer else stated


def read_language(shop: Shop, tag: str, asked_by: Place) -> tuple[Language | None, tuple[Problem, ...]]:
    """Return what is needed to write in a language, or None and why not.

    Args:
        shop: its templates hold the words, its translations the names.
        tag: BCP 47.
        asked_by: where the language is named, which is the place of the problem that it has no words.
    """
    texts, sentences = _texts(shop, "words", tag), _texts(shop, "cautions", tag)
    absent = [folder for folder, files in (("words", texts), ("cautions", sentences)) if not files]
    if absent:
        *others, last = [f'"{name}"' for name in shipped(shop)] or ["none"]
        there = " and ".join((", ".join(others), last)) if others else last
        files = " and ".join(f"templates/{folder}/{base_language(tag)}.toml" for folder in absent)
        message = f'listkit has no words in "{tag}" to write with; it has {there}.'
        hint = f"Write one of these, or put words of your own into {files} of the shop folder, after ours."
        return None, (Problem(asked_by, "language-missing", message, hint),)
    words, problems = parse_words(tag, texts)
    cautions, more = parse_cautions(sentences)
    try:
        locale_of(tag)
    except FieldError as fault:
        more += (Problem(asked_by, "language-missing", fault.message, fault.hint),)
    if problems or more or words is None or cautions is None:
        return None, (*problems, *more)
    translation = translation_of(shop, tag)
    translator = Translator(translation, words.naming) if translation else None
    sentences_of_owner = translation.cautions if translation else {}
    silences = silences_of(shop.settings.silenced, shop.templates.owners)
    entries = {
        item.code: tuple(sentences_of_owner.get(entry, entry) for entry in entries_of(item, silences))
        for item in shop.items
    }
    cautions = replace(cautions, entries=entries, own_words=silences.own_words)
    words = in_measure(translator.grammar(words) if translator else words, shop)
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
