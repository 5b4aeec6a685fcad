"""Reads languages/*.toml: what the shop calls its goods in other languages; the file's stem names the language."""

from collections.abc import Iterable
from pathlib import Path, PurePosixPath

from listkit.model.translation import Translation
from listkit.problem import Place, Problem
from listkit.read.markdown_file import is_language
from listkit.read.source import TOML_LIMIT, read_source
from listkit.read.toml_file import read_toml
from listkit.read.wording import quoted

Translations = tuple[tuple[str, Translation], ...]


def read_translations(root: Path, files: Iterable[str], currency: str) -> tuple[Translations, list[Problem]]:
    """Return language and translation of each file, in the order of the files."""
    found: list[tuple[str, Translation]] = []
    problems: list[Problem] = []
    for file in files:
        language = PurePosixPath(file).stem
        source = read_source(root, file, limit=TOML_LIMIT)
        if isinstance(source, Problem):
            problems.append(source)
        elif not is_language(language):
            hint = 'Name the file as in "fr.toml" or "fr-CA.toml".'
            problems.append(Problem(Place(file), "bad-value", f"{quoted(language)} is not a language.", hint))
        else:
            translation, told = read_toml(source, Translation, currency=currency)
            problems += told
            if translation:
                found.append((language, translation))
    return tuple(found), problems
