"""Passages: every text of a set that its owner typed, with the place of each word.

Placeholders and addresses are blanked out, so that only typed words are looked at and lines stay where they are.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from listkit.compute.catalog import SetFacts
from listkit.model.gift_set import Slot
from listkit.problem import KeyPath, Place

_COMPUTED: Final = re.compile(
    r"\{\{[^{}]{0,500}\}\}|\{%[^{}]{0,500}%\}|\{#[^{}]{0,2000}#\}|\]\([^()\s]{0,500}\)|https?://[^\s<>]{1,500}"
)
_NOT_LINE_END: Final = re.compile(r"[^\n]")
_AROUND: Final = 24
_LONGEST: Final = 50_000
"""Characters of one text that are looked at; nobody reads more."""


@dataclass(frozen=True, slots=True)
class Passage:
    """One typed text: its file and key, its language, and whether it is a story, whose lines are counted.

    In a table `row` is the code of its row and `column` the heading.
    """

    file: str
    key: KeyPath
    language: str
    text: str
    story: bool = False
    row: str = ""
    column: str = ""

    def place(self, offset: int = 0) -> Place:
        """Return the place of the word at `offset`."""
        if self.story:
            return Place(self.file, line=self.text.count("\n", 0, offset) + 1)
        return Place(self.file, row=self.row, column=self.column, key=self.key)

    def around(self, start: int, end: int) -> str:
        """Return the words around a find, on one line, for a message."""
        low, high = max(0, start - _AROUND), min(len(self.text), end + _AROUND)
        while low and low < start and not self.text[low - 1].isspace():
            low += 1
        while high < len(self.text) and high > end and not self.text[high].isspace():
            high -= 1
        shown = " ".join(self.text[low:high].split()).removesuffix(".")
        return f"{'…' if low else ''}{shown}{'…' if high < len(self.text) else ''}"


def passages(facts: SetFacts, language: str) -> Iterator[Passage]:
    """Yield name, title, theme, keywords, slots, options, words for photos and stories of a set.

    Args:
        facts: the set.
        language: the shop's own, of all but stories that name another.
    """
    gift_set, file = facts.source.gift_set, f"sets/{facts.source.folder}/set.toml"
    stated: list[tuple[KeyPath, str]] = [
        (("name",), gift_set.name),
        (("title",), gift_set.title),
        (("theme",), gift_set.theme),
        *((("keywords", at), keyword) for at, keyword in enumerate(gift_set.keywords)),
    ]
    for index, entry in enumerate(gift_set.contents):
        if isinstance(entry, Slot):
            stated.append((("contents", index, "slot"), entry.slot))
            stated += [(("contents", index, "choose", at), option.says) for at, option in enumerate(entry.choose)]
    stated += [(("photos", at, "alt"), note.alt) for at, note in enumerate(gift_set.photos)]
    yield from (Passage(file, key, language, typed(text)) for key, text in stated if text)
    yield from stories(facts, language)


def stories(facts: SetFacts, language: str) -> Iterator[Passage]:
    """Yield the stories of a set, in its own language first."""
    for story in facts.source.stories:
        yield Passage(story.file, (), story.language or language, typed(story.text), story=True)


def typed(text: str) -> str:
    """Return `text` with what is computed in it blanked out, so that every word stays where it is."""
    text = text[:_LONGEST]
    return _COMPUTED.sub(lambda found: _NOT_LINE_END.sub(" ", found[0]), text)
