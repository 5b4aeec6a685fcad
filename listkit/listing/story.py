"""Stories: a set's own words, with the values put in.

Most stories are plain text with a few placeholders that occur in every other story too; so each placeholder
is compiled once and for all. Whatever is more than that, or has a fault, goes the whole way, and both ways give
the same text.
"""

import re
from typing import Final

from listkit.listing.formats import Formats
from listkit.listing.templates import Kind, TemplateFault, compile_template

Named = dict[str, object]
"""The names that a template may use, with their values."""
_PLAIN_PLACE: Final = re.compile(r"(\{\{ [a-z_.| ]+ \}\})")
_LONGEST: Final = 20_000  # characters; beyond it the bounds of a template are for the whole way to keep


def render_story(text: str, names: Named, formats: Formats) -> str:
    """Return a story as Markdown with its values put in, each escaped for Markdown.

    Raises:
        TemplateFault: the story breaks a rule of templates, or asks for what is not there.
    """
    parts = _parts(text)
    if parts is not None:
        try:
            return "".join([_filled(part, names, formats) if part.startswith("{{") else part for part in parts])
        except TemplateFault:
            pass  # told below, with its line in the whole
    return compile_template(text, kind=Kind.MARKDOWN, formats=formats).render(names)


def _parts(text: str) -> tuple[str, ...] | None:
    """Return text and plain placeholders in turn; None when there is anything else in it."""
    parts = _PLAIN_PLACE.split(text)
    simple = len(text) <= _LONGEST and text.replace("\n", "").isprintable()
    return tuple(parts) if simple and not any("{" in part for part in parts[::2]) else None


def _filled(part: str, names: Named, formats: Formats) -> str:
    return compile_template(part, kind=Kind.MARKDOWN, formats=formats).render(names)
