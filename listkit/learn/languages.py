"""The words of headings and cells, as the files of `templates/headings/` have them: one file a language, all alike.

A section's key has its words in every language, English first. They are as they are written there; who compares them
folds them.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.shipped import shipped_templates


@dataclass(frozen=True, slots=True)
class Languages:
    """All languages together: the words of each key of each section, in the order of the languages."""

    sections: Mapping[str, Mapping[str, tuple[str, ...]]]

    def words(self, section: str, key: str) -> tuple[str, ...]:
        """Return what a key of a section is called, () for a key that no language has."""
        return self.sections[section].get(key, ())


def read_languages(folder: Path) -> Languages:
    """Return the words of every language file of a folder."""
    sections: dict[str, dict[str, tuple[str, ...]]] = {}
    for path in sorted(folder.glob("*.toml"), key=lambda path: (path.stem != "en", path.stem)):
        for section, keys in tomllib.loads(path.read_text(encoding="utf-8")).items():
            into = sections.setdefault(section, {})
            for key, text in keys.items():
                into[key] = (*into.get(key, ()), *listed_words(text))
    return Languages(sections)


def listed_words(text: str) -> tuple[str, ...]:
    """Return the words of a list with commas, each in one line.

    >>> listed_words("net weight,\\n  fill?")
    ('net weight', 'fill?')
    """
    return tuple(" ".join(word.split()) for word in text.split(",") if word.strip())


SHIPPED: Final = read_languages(shipped_templates() / "headings")
