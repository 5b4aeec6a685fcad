"""Words: what listkit itself says in a text, by language, from templates/words/<language>.toml.

A language of one country ("fr-CA") is read over its base ("fr"), and there is no other
fallback: a language without words gives a problem, never a text in another one. Sentences hold
places in braces, filled in one pass, so that a value with braces in it stays as it is.

Nouns of items and forms within a sentence ("a jar", "two bar soaps", "a pouch of bath salts") follow the rules of
the language; what these do not give is in its table of forms.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from itertools import takewhile
from typing import Any, Final, get_type_hints

from listkit.bounded_toml import parse_bounded
from listkit.compute.catalog import Piece
from listkit.listing.compounds import base_of, with_more_before, with_more_behind
from listkit.listing.formats import list_text, measure_text
from listkit.listing.sentences import fill, may_be_empty, sentence_faults, with_places
from listkit.model.gift_set import Slot
from listkit.model.item import Item
from listkit.model.naming import Naming
from listkit.model.shop import Shop
from listkit.problem import Place, Problem
from listkit.units.shown import UnitSystem
from listkit.units.spoken import locale_of

Raw = Mapping[str, object]
_LINE: Final = re.compile(r"line (\d+)")
_TAKES: Final = {("shots",): ("what", "set", "season"), ("ingredients", "origins"): ("items",)}


@dataclass(frozen=True, slots=True)
class Titles:
    """How a title is put together, and one variant's name."""

    gift_set: str
    together: str
    shared: str  # "last" or "first": which word of a form says what it is
    named: str = with_places("name", "gift_set", spared=("gift_set",))
    lead: str = with_places("head", "forms", spared=("forms",))
    alone: str = with_places("name", "form", spared=("form",))
    season: str = with_places("title", "season", spared=("season",))
    scent: str = with_places("title", "scent", spared=("scent",))
    count: str = with_places("title", "count", spared=("count",))
    chosen: str = with_places("head", "choices", spared=("head",), once=("choices",))


@dataclass(frozen=True, slots=True)
class Sentences:
    """Sentences of the text."""

    inside_box: str = with_places("items")
    inside_loose: str = with_places("items")
    choice: str = with_places("what")
    fixed_and_choices: str = with_places("fixed", "choices")
    contained: str = with_places("container", "what", spared=("container",))
    several: str = with_places("count", "what", once=("count", "what"))
    colon: str = with_places()
    sold_out: str = with_places()
    from_price: str = with_places("price")
    reduced: str = with_places("prior", "price", "until")
    reduced_each: str = with_places("prior", "price")
    reduced_all: str = with_places("prices", "until")
    prior: str = with_places("days")
    mini: str = with_places("item", "size", "larger", "larger_size", spared=("larger", "larger_size"))
    mini_alone: str = with_places("item", "size")
    applies_to: str = with_places("caution", "items", once=("caution", "items"))
    defer: str = with_places()
    box_outside: str = may_be_empty("size")
    box_inside: str = may_be_empty("size")
    card: str = with_places()
    card_words: str = with_places("count")
    message: str = with_places("count")
    care: str = with_places()
    keeps: str = with_places("time")
    keeps_least: str = with_places("time", "items")


@dataclass(frozen=True, slots=True)
class Headings:
    """Headings of the text's parts."""

    contents: str
    contents_loose: str
    minis: str
    ingredients: str
    cautions: str
    box: str
    message: str
    care: str
    choice: str = with_places("slot")


@dataclass(frozen=True, slots=True)
class Alt:
    """What is added to the words for a picture."""

    container: str = with_places("what", "container", spared=("container",))
    from_set: str = with_places("text", "set", spared=("set",))
    by_shop: str = with_places("text", "shop", spared=("shop",))
    again: str = with_places("text", "number", once=("text", "number"))


@dataclass(frozen=True, slots=True)
class NetWords:
    """How net contents are declared, and what a unit costs; `units` are the signs printed for ours."""

    units: tuple[tuple[str, str], ...]
    both: str = with_places("first", "second", once=("first", "second"))
    times: str = with_places("count", "size", once=("count", "size"))
    mass: str = with_places("size", once=("size",))
    volume: str = with_places("size", once=("size",))
    size: str = with_places("size", once=("size",))
    one: str = with_places("count", "what", "size", spared=("count", "what"), once=("size",))
    many: str = with_places("count", "what", "size", spared=("what",), once=("count", "size"))
    bare: str = with_places("count", "what")
    between: str = with_places()
    end: str = with_places()
    total: str = with_places("count", "what", "size", spared=("count", "what"), once=("size",))
    unit_price: str = with_places("price", "unit")


@dataclass(frozen=True, slots=True)
class IngredientWords:
    """What is said beneath the ingredients; `origins` is a sentence a key of what people ask for."""

    origins: tuple[tuple[str, str], ...]
    shared: str = with_places("what")
    all_of_them: str = with_places()


@dataclass(frozen=True, slots=True)
class Nouns:
    """How nouns behave: articles by the letters they stand before, plurals, numbers in words.

    With `compounds` a noun that ends with a known form goes as that; a word with one of the endings `adjectives` is
    written small before a noun.
    """

    article: str
    article_before: tuple[tuple[str, str], ...]
    small: bool
    uncounted_ending: str
    numbers: tuple[str, ...]
    compounds: bool
    adjectives: tuple[str, ...]
    many: str = with_places("one")


@dataclass(frozen=True, slots=True)
class Form:
    """One noun that goes its own way: `one` with its article, `many` without; empty where the rules give it."""

    name: str
    one: str = ""
    many: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """All words of one language. `counted` and `shots` are tables by key.

    `measure` is that of the shop in its own language where it states one; None is what is usual in the language.
    """

    language: str
    titles: Titles
    sentences: Sentences
    headings: Headings
    alt: Alt
    net: NetWords
    ingredients: IngredientWords
    nouns: Nouns
    counted: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    forms: tuple[Form, ...]
    shots: tuple[tuple[str, str], ...]
    measure: UnitSystem | None = None

    @property
    def naming(self) -> Naming:
        """How a piece is called."""
        return Naming(self.titles.alone, self.titles.shared)

    def count(self, noun: str, number: int) -> str:
        """Return "3 pieces" as the language's plural rules have it (CLDR)."""
        phrases = dict(dict(self.counted)[noun])
        phrase = phrases.get(locale_of(self.language).plural_form(number)) or phrases["other"]
        return fill(phrase, count=str(number))

    def form(self, name: str) -> Form:
        """Return the entry of a noun; one without words of its own when there is none."""
        exact = next((form for form in self.forms if form.name == name.lower()), None)
        if exact or not self.nouns.compounds:
            return exact or Form(name)
        known, first = {form.name: form for form in reversed(self.forms)}, self.titles.shared == "first"
        if not (base := base_of(name, known, first=first)):
            return Form(name)
        form, said = known[base], with_more_behind if first else with_more_before
        return Form(name.lower(), said(form.one, name, base), said(form.many, name, base, many=True))

    def all_of(self, parts: tuple[str, ...]) -> str:
        """Return "a, b and c"."""
        return list_text(parts, self.language)

    def one_of(self, parts: tuple[str, ...]) -> str:
        """Return "a, b or c"."""
        return list_text(parts, self.language, style="or")


def in_measure(wording: Words, shop: Shop) -> Words:
    """Return the words with the shop's measure, where it states one and they are of its own language."""
    settings = shop.settings
    stated = settings.measure is not None and wording.language == settings.language
    return replace(wording, measure=settings.measure) if stated else wording


_ELIDED: Final = re.compile(r"\bde (?=[aeiouyhàâäéèêëîïôöùûü])", re.IGNORECASE)


def contained(wording: "Words", container: str, what: str) -> str:
    """Return what is in a container, "a pouch of bath salts"; French leaves the e of "de" off before a vowel."""
    text = fill(wording.sentences.contained, container=container, what=what)
    return _ELIDED.sub("d’", text) if base_language(wording.language) == "fr" else text


def base_language(language: str) -> str:
    """Return the language without its country: "fr" for "fr-CA"."""
    return language.partition("-")[0]


def paths_of(folder: str, language: str) -> tuple[str, ...]:
    """Return a language's files in a folder of templates, base first.

    >>> paths_of("words", "fr-CA")
    ('words/fr.toml', 'words/fr-CA.toml')
    """
    return tuple(f"{folder}/{name}.toml" for name in dict.fromkeys((base_language(language), language)))


@lru_cache(maxsize=64)
def parse_words(language: str, texts: tuple[tuple[str, str], ...]) -> tuple[Words | None, tuple[Problem, ...]]:
    """Return the words, or None and what is wrong with them.

    Args:
        language: BCP 47.
        texts: path below templates/ and text of each file, base first; at least one.
    """
    raw: dict[str, object] = {}
    for path, text in texts:
        try:
            raw = _over(raw, parse_bounded(text))
        except tomllib.TOMLDecodeError as fault:
            return None, (not_toml(path, fault),)
    return _Reading(f"templates/{texts[-1][0]}", raw).words(language)


def missing(folder: str, language: str) -> Problem:
    """Return the problem of a language that has no file in a folder of templates."""
    message, hint = f'there is nothing in "{language}".', f"Write this file after templates/{folder}/en.toml."
    return Problem(Place(f"templates/{paths_of(folder, language)[0]}"), "language-missing", message, hint)


def not_toml(path: str, fault: tomllib.TOMLDecodeError) -> Problem:
    """Return the problem of a file below templates/ that is not TOML, with the line where reading stopped."""
    line = _LINE.search(str(fault))
    place = Place(f"templates/{path}", line=int(line[1]) if line else 0)
    return Problem(place, "template-fault", "this is not TOML.", "Look at the quotes and brackets.")


def _over(base: Raw, over: Raw) -> dict[str, object]:
    """Return `base` with what `over` has put over it, table by table."""
    merged = dict(base)
    for key, value in over.items():
        before = merged.get(key)
        merged[key] = _over(before, value) if isinstance(before, dict) and isinstance(value, dict) else value
    return merged


class _Reading:
    """One file of words: the values asked for so far, and what was wrong with them."""

    def __init__(self, file: str, raw: Raw) -> None:
        self.file, self.raw = file, raw
        self.problems: list[Problem] = []

    def words(self, language: str) -> tuple[Words | None, tuple[Problem, ...]]:
        nouns = self.table("nouns")
        read = Words(
            language=language,
            titles=Titles(**self.sentences("titles", Titles)),
            sentences=Sentences(**self.sentences("sentences", Sentences)),
            headings=Headings(**self.sentences("headings", Headings)),
            alt=Alt(**self.sentences("alt", Alt)),
            net=NetWords(**self.sentences("net", NetWords), units=self.texts("net", "units")),
            ingredients=IngredientWords(
                **self.sentences("ingredients", IngredientWords), origins=self.texts("ingredients", "origins")
            ),
            nouns=Nouns(
                **self.sentences("nouns", Nouns),
                article_before=self.texts("nouns", "article_before", optional=True),
                small=nouns.get("small") is True,
                numbers=self.words_of_nouns("numbers"),
                compounds=nouns.get("compounds") is True,
                adjectives=self.words_of_nouns("adjectives"),
            ),
            counted=tuple((noun, self.plurals(noun)) for noun in ("piece", "month", "character")),
            forms=tuple(self.form(name) for name in self.table("forms")),
            shots=self.texts("shots"),
        )
        return (None if self.problems else read), tuple(self.problems)

    def table(self, *path: str) -> dict[str, object]:
        table: object = self.raw
        for key in path:
            table = table.get(key, {}) if isinstance(table, dict) else {}
        return table if isinstance(table, dict) else {}

    def sentences(self, section: str, kind: type[Any]) -> dict[str, Any]:
        """Return the texts that `kind` has a field for, each with no other places than it takes."""
        table, hints = self.table(section), get_type_hints(kind)
        texts = [(one.name, one.metadata) for one in fields(kind) if hints[one.name] is str]
        return {name: self.text(table.get(name), f"{section}.{name}", **of) for name, of in texts}

    def text(self, value: object, key: str, **rules: Any) -> str:  # noqa: ANN401 (as sentence_faults takes)
        """Return a sentence, "" where it has a fault, which is added; `rules` are those of `sentence_faults`."""
        faults = tuple(sentence_faults(key, value, **rules))
        for fault in faults:
            self.add(*fault)
        return "" if faults else str(value)

    def texts(self, *path: str, optional: bool = False) -> tuple[tuple[str, str], ...]:
        table = self.table(*path)
        if not table and not optional:
            self.add("language-missing", f"there is no [{'.'.join(path)}].", "Write it after the English one.")
        if path == ("shots",) and table and "other" not in table:
            self.add("language-missing", 'there is no "shots.other".', 'Write other = "{what}".')
        takes = _TAKES.get(path, ())
        needs = takes if "origins" in path else ()
        return tuple(  # an empty sentence leaves a note out
            (key, self.text(value, ".".join((*path, key)), takes=takes, needs=needs if value else ()))
            for key, value in table.items()
        )

    def plurals(self, noun: str) -> tuple[tuple[str, str], ...]:
        table = self.table("counted", noun)
        if "other" not in table:
            self.add("language-missing", f'there is no "counted.{noun}.other".', "Write the plural.")
        takes = ("count",)
        return tuple(  # "one piece" may be said in words
            (form, self.text(value, f"counted.{noun}.{form}", takes=takes, needs=takes if form == "other" else ()))
            for form, value in table.items()
        )

    def form(self, name: str) -> Form:
        table = self.table("forms", name)
        one, many = (self.text(table.get(key, ""), f"forms.{name}.{key}") for key in ("one", "many"))
        return Form(name.lower(), one, many)

    def words_of_nouns(self, key: str) -> tuple[str, ...]:
        value = self.table("nouns").get(key, [])
        return tuple(self.text(word, f"nouns.{key}") for word in value) if isinstance(value, list) else ()

    def add(self, code: str, message: str, hint: str) -> None:
        self.problems.append(Problem(Place(self.file), code, message, hint))


# Nouns within a sentence.

_LINKS: Final = frozenset(("of", "de", "du", "des", "à", "au", "aux", "en", "con", "del", "al"))
_LONGEST_ENDING: Final = 2  # letters that make a plural
_LONGEST_LINK: Final = 3  # letters of a word that joins others, as in "gommage au sucre" and "gommage au sel"


def one(wording: Words, noun: str, container: str = "") -> str:
    """Return a noun with its article: "a bar soap", "an oil"; a form in the plural by its container."""
    if stated := wording.form(noun).one:
        return stated
    if uncounted(wording, noun):
        if not container:
            return noun
        return contained(wording, one(wording, container), noun)
    articles = (stated for start, stated in wording.nouns.article_before if noun.lower().startswith(start))
    return f"{next(articles, wording.nouns.article)} {noun}".strip()


def many(wording: Words, noun: str) -> str:
    """Return a noun in the plural, without article: "bar soaps"."""
    if stated := wording.form(noun).many:
        return stated
    return noun if uncounted(wording, noun) else fill(wording.nouns.many, one=noun)


def counted(wording: Words, noun: str, quantity: int, container: str = "") -> str:
    """Return a noun with how many of it: "a bar soap", "two bar soaps", "12 bar soaps"."""
    if quantity == 1:
        return one(wording, noun, container)
    numbers = wording.nouns.numbers
    number = numbers[quantity] if quantity < len(numbers) else str(quantity)
    if container and uncounted(wording, noun):
        return contained(wording, f"{number} {many(wording, container)}", noun)
    return f"{number} {many(wording, noun)}"


def uncounted(wording: Words, noun: str) -> bool:
    """Whether a form is in the plural already, as "bath salts" is and "glass" is not."""
    ending = wording.nouns.uncounted_ending
    return bool(ending) and noun.endswith(ending) and not noun.endswith(ending * 2)


def slot_noun(wording: Words, slot: Slot, items: Mapping[str, Item]) -> str:
    """Return what a slot is called within a sentence.

    That is the form of its options where all are of one ("bar soap"), else its own name with what all the forms
    begin with ("mini jar"; "pot de gommage" in a language whose nouns stand first).
    """
    name = small(wording, slot.slot)
    forms = [small(wording, items[option.item].form).split() for option in slot.choose]
    if all(form and form == forms[0] for form in forms):
        return " ".join(forms[0])
    shared = [column[0] for column in takewhile(lambda column: len(set(column)) == 1, zip(*forms, strict=False))]
    more = [word for word in shared if not any(_one_word(word, said) for said in name.split())]
    if wording.titles.shared == "last":
        return " ".join((*more, name))
    while len(more) > 1 and len(more[-1]) <= _LONGEST_LINK:
        more.pop()
    return contained(wording, name, " ".join(more)) if more else name


def _one_word(word: str, second: str) -> bool:
    """Whether two words are one, in the singular or the plural: "bar", "bars"."""
    short, long = sorted((word, second), key=len)
    return long.startswith(short) and len(long) - len(short) <= _LONGEST_ENDING


def beside(noun: str, container: str) -> str:
    """Return a container without the words that the noun has already; "" where it has all of them.

    >>> beside("mini scrub", "mini jar"), beside("bar soap", "bar"), beside("exfoliante de sal", "tarro de cristal")
    ('jar', '', 'tarro de cristal')
    """
    said = {*noun.split()} - _LINKS
    words = [word for word in container.split() if word not in said]
    while words and words[0] in _LINKS:
        words.pop(0)
    return " ".join(words)


def small(wording: Words, name: str) -> str:
    """Return a slot's name as it stands within a sentence: "Mini jar" is "mini jar", "LED lamp" stays.

    Where nouns are written large an adjective before one is not: "Kleiner Tiegel" is "kleiner Tiegel".
    """
    first, _, rest = name.partition(" ")
    adjective = rest[:1].isupper() and first.endswith(wording.nouns.adjectives) and not wording.form(first).one
    return name[:1].lower() + name[1:] if (wording.nouns.small or adjective) and not name[1:2].isupper() else name


def capital(text: str) -> str:
    """Return `text` beginning with a capital letter."""
    return text[:1].upper() + text[1:]


def size_text(item: Item, language: str) -> str:
    """Return an item's net content as the language writes it: "4.5 g", "4 × 25 g"; "" when none is stated."""
    return "" if item.net is None else measure_text(item.net.text, language)


def piece_text(wording: Words, piece: Piece) -> str:
    """Return one line of the contents: "Rosemary & Rind bar soap, 110 g", "2 × Clover & Cream body butter, 100 ml"."""
    size = size_text(piece.item, wording.language)
    name = wording.naming.of(piece.item)
    return several(wording, piece.quantity, f"{name}, {size}" if size else name)


def several(wording: Words, quantity: int, what: str) -> str:
    """Return something with how many of it, "2 × Clover & Cream body butter"; one goes without a number."""
    return what if quantity == 1 else fill(wording.sentences.several, count=str(quantity), what=what)
