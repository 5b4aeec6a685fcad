"""A language to write in: its words, its cautions, its figures, and the shop's own names in it.

Words and cautions are templates (words/fr.toml, cautions/fr.toml); names of goods are the owner's (languages/fr.toml).
A language without words is a problem with the place that asks for it, and what would help.
"""

from dataclasses import dataclass, replace

from listkit.compute.catalog import SetFacts
from listkit.compute.cautions import entries_of
from listkit.listing.cautions import Cautions, parse_cautions
from listkit.listing.formats import Formats, locale_of
from listkit.listing.translate import Translator, translation_of
from listkit.listing.words import Words, base_language, parse_words, paths_of
from listkit.model.shop import Shop
from listkit.problem import FieldError, Place, Problem


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
