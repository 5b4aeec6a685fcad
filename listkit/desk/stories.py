"""The stories of a set: as they are written, as they will look, and what was sent of them."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from listkit.compute.catalog import SetFacts
from listkit.desk import changes
from listkit.desk.edits import Edit, Files, PutText, Role, Target
from listkit.desk.fields import name_of
from listkit.desk.page import Desk, in_full, render, text_of
from listkit.desk.set_view import StoryWords, story_words
from listkit.listing.words import base_language
from listkit.model.shop import Shop
from listkit.problem import FieldError
from listkit.read.source import Source, decoded_table

STORY: Final = "story"
"""The name of the field of a story in the shop's language; others have theirs behind it."""


@dataclass(frozen=True, slots=True)
class StoryField:
    """A story in one language as it is written: `page` is how it will look, `fault` why that cannot be shown.

    `has_notes` is whether its file begins with notes for her, which are not part of `text`.
    """

    name: str
    language: str
    text: str
    has_notes: bool
    target: Target
    digest: str
    offered: tuple[tuple[str, str], ...]
    page: str
    fault: str


def stories_of(code: str, files: Files, facts: SetFacts | None, shop: Shop) -> Iterator[StoryField]:
    """Yield the story of a set in each language: those that are there, and empty ones that some place asks for."""
    there = [language for _, language in files.folder(code).stories]
    shops_own = base_language(shop.settings.language)
    asked = [base_language(each.language) for each in shop.channels if each.language]
    tags = dict.fromkeys(["", *there, *(tag for tag in asked if tag != shops_own and tag not in there)])
    for tag in tags:
        file = changes.see(files.root, Target(Role.STORY, code, tag), files)
        whole = _text_there(file.content)
        notes = _notes_at_head(whole)
        text = whole.removeprefix(notes)
        words = story_words(facts, shop, tag)
        made, fault = _story_page(words, text)
        yield StoryField(
            name=name_of((STORY, tag)) if tag else STORY,
            language=tag or shop.settings.language,
            text=text,
            has_notes=bool(notes),
            target=file.target,
            digest=file.digest,
            offered=tuple(words.offered()),
            page=made,
            fault=fault,
        )


def _text_there(content: bytes) -> str:
    """Return the text of a file letter by letter, whatever it is in: what is saved of it is in UTF-8."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        source = decoded_table(STORY, content)
        text = source.text if isinstance(source, Source) else content.decode("latin-1")
    return text.replace("\r\n", "\n")


_NOTES: Final = re.compile(r"\s*\{#.*?#\}[ \t]*\n?", re.DOTALL)


def _notes_at_head(text: str) -> str:
    """Return the notes between signs with which a story begins, as the starter's; "" where there are none.

    >>> _notes_at_head("{# How it is done #}\\nFor early hours."), _notes_at_head("For early {# or late #} hours.")
    ('{# How it is done #}\\n', '')
    """
    notes = _NOTES.match(text)
    return notes[0] if notes else ""


def _story_page(names: StoryWords, text: str) -> tuple[str, str]:
    """Return a story as a small page of its own, and what is wrong with it, "" where nothing is."""
    html, fault = "", ""
    try:
        html = names.as_html(text)
    except FieldError as refusal:
        fault = in_full(refusal)
    return render("story.html", language=names.formats.language, html=html), fault


def story_page(desk: Desk, request: Request, form_sent: FormData) -> Response:
    """Return how a story would look that is being typed; nothing is kept."""
    seen, text, tag = desk.shop_state.look(), form_sent.get("text"), text_of(form_sent, "language")
    names = story_words(seen.facts(request.path_params["code"]), seen.opened.shop, tag)
    made, fault = _story_page(names, text.replace("\r\n", "\n") if isinstance(text, str) else "")
    return JSONResponse({"page": made, "fault": fault})


def story_edits(files: Files, code: str, sent: Mapping[str, Sequence[str]]) -> Iterator[Edit]:
    """Yield edits of stories that were sent and differ; one that is not there and stays empty is none."""
    for name, values in sent.items():
        if name.partition("/")[0] != STORY:
            continue
        target = Target(Role.STORY, code, name.partition("/")[2])
        text = values[-1].replace("\r\n", "\n")
        before = _text_there(changes.see(files.root, target, files).content)
        whole = _notes_at_head(before) + text
        if before != whole:
            yield Edit(target, PutText(whole))
