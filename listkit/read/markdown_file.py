"""Reads a set's stories: Markdown in UTF-8, one file a language; placeholders stay as they stand."""

from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from listkit.model.fields import Language
from listkit.model.shop import Story
from listkit.problem import Place, Problem
from listkit.read.folder import SetFiles
from listkit.read.source import read_source
from listkit.read.wording import quoted

_LANGUAGE: TypeAdapter[str] = TypeAdapter(Language)
_LIMIT = 1_000_000


def read_stories(root: Path, files: SetFiles) -> tuple[tuple[Story, ...], list[Problem]]:
    """Return the stories, the shop's own language first; language "" is the shop's own."""
    stories: list[Story] = []
    problems: list[Problem] = []
    for file, language in files.stories:
        source = read_source(root, file, limit=_LIMIT)
        if isinstance(source, Problem):
            problems.append(source)
        elif language and not is_language(language):
            hint = 'Name it as in "story.fr.md" or "story.en-GB.md".'
            problems.append(Problem(Place(file), "bad-value", f"{quoted(language)} is not a language.", hint))
        else:
            stories.append(Story(file, language, source.text))
    return tuple(sorted(stories, key=lambda story: story.language)), problems


def is_language(text: str) -> bool:
    """Whether `text` names a language as our files do: "fr", "fr-CA"."""
    try:
        _LANGUAGE.validate_python(text)
    except ValidationError:
        return False
    return True
