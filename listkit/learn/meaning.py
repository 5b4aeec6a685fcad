"""Meaning: one thing that a heading may stand for, with the words for it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a heading may stand for.

    `item` names a field of the items table, `feed` one of FIELDS; either is "" where there is none. `words` are
    sure when they stand alone, `weak` ones only when something else speaks for them.
    """

    name: str
    item: str
    feed: str
    words: tuple[str, ...]
    weak: tuple[str, ...]


def meaning(name: str, fields: str, *languages: str) -> Meaning:
    """Return a row of the table: `fields` is "item field / feed field", each language its words with commas between."""
    item, _, feed = (part.strip() for part in fields.partition("/"))
    said = [word.strip() for language in languages for word in language.split(",") if word.strip()]
    weak = tuple(word.removesuffix("?") for word in said if word.endswith("?"))
    return Meaning(name, item, feed, tuple(word for word in said if not word.endswith("?")), weak)
