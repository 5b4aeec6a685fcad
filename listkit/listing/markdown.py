"""Markdown: a story read once, given as HTML or as plain text.

CommonMark with HTML off: nothing a story contains becomes a tag of its own, links lead only to
http, https and mailto, pictures leave their alternative text and fetch nothing. Any text at all
is read, in a time that grows with its length; beyond MOST_TEXT it is given as it stands.
A story is a part of a text whose own headings are of level HEADING; so its headings begin there, and none skips a
level.
"""

import re
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Final

from markdown_it import MarkdownIt
from markdown_it.rules_core import StateCore
from markdown_it.token import Token
from markupsafe import escape

from listkit import bounds

MOST_TEXT: Final = bounds.MARKDOWN
HEADING: Final = 3  # below a page's title and what the page calls the text
_KEPT: Final = 16  # stories; every place of a set asks for the same one, and a long one takes a second to read
_LOWEST: Final = 6  # HTML Living Standard, 4.3.6
_ADDRESS: Final = re.compile(r"(?:https?://|mailto:)\S", re.IGNORECASE)
_LINE_END: Final = re.compile("\\r\\n?")  # CommonMark 0.31.2, 2.1: a carriage return ends a line too
_HEADING: Final = re.compile("^([^#]*)#+")
_SURROGATE: Final = re.compile("[\ud800-\udfff]")  # half of a character: no file can hold it
_SPACES: Final = re.compile(r"[ \t\r\n\f\v\u2028\u2029]+")  # no-break spaces stay: they hold a price together

# Most values: a letter first, single spaces, none of the signs below; looked at first, because feeds hold thousands.
_HARMLESS: Final = re.compile(r"[^\W\d_](?: ?[^\s\\`*_\[\]<~|&!#])*")
# Always markup, wherever they stand; "~" and "|" only in dialects that have strikethrough and tables.
_ALWAYS: Final = re.compile(r"[\\`*_\[\]<~|]")
# "&" only where a reference could begin, "!" only where a bracket may follow in the text around,
# "#" at the end only where it could close a heading.
_BEFORE: Final = re.compile(r"&(?=[#A-Za-z]|$)|!$|(?<= )#(?=#* ?$)")
# At the start of a line: heading, quote, list, underline of a heading; "." and ")" after a number make a list.
_AT_START: Final = re.compile(r"^( ?)([#>+=.)-])")
_NUMBERED: Final = re.compile(r"^( ?[0-9]{1,9})([.)])")


class MarkdownText(str):
    """Text that is Markdown already: a Markdown template puts it in as it stands."""

    __slots__ = ()


@lru_cache(maxsize=_KEPT)
def to_html(markdown: str) -> str:
    """Return the text as HTML of paragraphs, headings, lists, quotes, emphasis, code and links only."""
    text = _SURROGATE.sub("\ufffd", markdown)
    if len(text) > MOST_TEXT:
        return f"<p>{escape(text)}</p>\n"
    return str(_READER.render(text))


@lru_cache(maxsize=_KEPT)
def to_plain(markdown: str) -> str:
    """Return the text without marks: blocks a blank line apart, lists with "- " or "1. ", links as "text (address)"."""
    text = _SURROGATE.sub("\ufffd", markdown)
    if len(text) > MOST_TEXT:
        return text
    page = _Page()
    for token in _READER.parse(text):
        page.take(token)
    return "\n".join(page.lines)


@lru_cache(maxsize=_KEPT)
def joined(markdown: str) -> str:
    """Return the text with each paragraph on a line of its own, hard line ends kept, and headings of their levels.

    It reads as it did.

    >>> joined("One day\\nin spring.\\n\\n- a\\n- b  \\n  c")
    'One day in spring.\\n\\n- a\\n- b  \\n  c'
    >>> joined("# Spring\\n\\nIt rains.")
    '### Spring\\n\\nIt rains.'
    """
    text = _LINE_END.sub("\n", _SURROGATE.sub("\ufffd", markdown))
    if len(text) > MOST_TEXT or not ("\n" in text or "#" in text):
        return markdown
    lines = text.split("\n")
    for token in reversed(_READER.parse(text)):
        if token.type == "heading_open" and token.map:
            _level_line(lines, token)
        elif token.type == "inline" and token.map:
            first, last = token.map
            lines[first:last] = _one_line_each(lines[first:last])
    made = "\n".join(lines)
    return made if to_html(made) == to_html(text) else markdown


def _one_line_each(lines: list[str]) -> list[str]:
    """Return a paragraph's lines, each with those that run on behind it."""
    made = [[lines[0]]]
    for before, line in pairwise(lines):
        after = line.lstrip(" \t>")
        if not after or before.endswith(("  ", "\\")):
            made.append([line])
        else:
            made[-1][-1] = made[-1][-1].rstrip()
            made[-1].append(after)
    return [" ".join(parts) for parts in made]


def _level_line(lines: list[str], heading: Token) -> None:
    """Write a heading in its line with as many signs as its level; one that is underlined, where it has one line."""
    assert heading.map is not None
    (first, last), signs = heading.map, "#" * int(heading.tag[1:])
    if heading.markup.startswith("#"):
        lines[first] = _HEADING.sub(rf"\g<1>{signs}", lines[first])
    elif last - first == 2 and heading.level == 0:
        lines[first:last] = [f"{signs} {lines[first].strip()}"]


def one_line(text: str) -> str:
    """Return `text` on one line: every run of spaces and line ends is one space, none at the ends."""
    return _SPACES.sub(" ", text).strip(" ")


def escape_markdown(text: str) -> str:
    """Return `text` so that Markdown shows it literally, wherever in a line it is put; it becomes one line.

    CommonMark 0.31.2, 2.4: any ASCII punctuation may follow a backslash. Only what could be read
    as markup gets one, so that names stay readable in a file that is given out as Markdown.
    """
    if _HARMLESS.fullmatch(text):
        return text
    line = _SPACES.sub(" ", text)
    line = _ALWAYS.sub(r"\\\g<0>", line)
    line = _BEFORE.sub(r"\\\g<0>", line)
    line = _NUMBERED.sub(r"\1\\\2", line)
    return _AT_START.sub(r"\1\\\2", line)


def _keep_plain_links(state: StateCore) -> None:
    """Leave a picture's alternative text in its place, and of a link elsewhere than to the web or mail its text."""
    for block in state.tokens:
        if block.children:
            block.children = _allowed(block.children)


def _level_headings(state: StateCore) -> None:
    """Let the first heading be of level HEADING, and each that follows at most one below those that it stands under."""
    above: list[int] = []
    for token in state.tokens:
        if token.type == "heading_open":
            stated = int(token.tag[1:])
            while above and above[-1] >= stated:
                above.pop()
            above.append(stated)
        if token.type in {"heading_open", "heading_close"}:
            token.tag = f"h{min(HEADING - 1 + len(above), _LOWEST)}"


def _allowed(children: Sequence[Token]) -> list[Token]:
    kept: list[Token] = []
    closing: list[bool] = []
    for token in children:
        if token.type == "image":
            kept.append(Token("text", "", 0, content=_words(token.children or ())))
        elif token.type == "softbreak":  # the owner's own lines are no lines of a page
            kept.append(Token("text", "", 0, content=" "))
        elif token.type == "link_open":
            closing.append(bool(_ADDRESS.match(str(token.attrGet("href") or ""))))
            if closing[-1]:
                kept.append(token)
        elif token.type != "link_close" or closing.pop():
            kept.append(token)
    return kept


def _words(children: Sequence[Token]) -> str:
    """Return the text of inline tokens, a link's address behind its text unless that is its text."""
    parts: list[str] = []
    opened: list[tuple[int, str]] = []
    for token in children:
        if token.type == "image":
            parts.append(_words(token.children or ()))
        elif token.type == "link_open":
            opened.append((len(parts), str(token.attrGet("href")).removeprefix("mailto:")))
        elif token.type == "link_close" and opened:
            start, address = opened.pop()
            if "".join(parts[start:]) != address:
                parts.append(f" ({address})")
        else:
            parts.append({"softbreak": " ", "hardbreak": "\n"}.get(token.type, token.content))
    return "".join(parts)


class _Page:
    """The plain text so far, and the lists that are open."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.numbers: list[int | None] = []  # the next number of each open list; None for one with dashes
        self.margins: list[int] = []  # how far each open entry is set in
        self.mark = ""  # what the next line begins with, when it is the first of an entry
        self.tight = False

    def take(self, token: Token) -> None:
        """Add one block token."""
        match token.type:
            case "bullet_list_open":
                self.numbers.append(None)
            case "ordered_list_open":
                start = token.attrGet("start")
                self.numbers.append(1 if start is None else int(start))
            case "bullet_list_close" | "ordered_list_close":
                self.numbers.pop()
                self.tight = bool(self.numbers) and self.tight
            case "list_item_open":
                self.begin_entry()
            case "list_item_close":
                if self.mark:  # an empty entry
                    self.add("")
                self.margins.pop()
            case "paragraph_open":
                self.tight = self.tight and token.hidden
            case "inline":
                self.add(_words(token.children or ()))
            case "fence" | "code_block":
                self.add(token.content.rstrip("\n"))

    def begin_entry(self) -> None:
        number = self.numbers[-1]
        mark = "- " if number is None else f"{number}. "
        if number is not None:
            self.numbers[-1] = number + 1
        self.mark += mark
        self.margins.append(len(mark))

    def add(self, text: str) -> None:
        """Add a block of text, a blank line before it unless it belongs to a tight list."""
        if not (text.strip() or self.mark):
            return
        if self.lines and not self.tight:
            self.lines.append("")
        margin = " " * sum(self.margins)
        first = margin[len(self.mark) :] + self.mark
        for line in text.split("\n"):
            self.lines.append((first + line).rstrip())
            first = margin
        self.mark = ""
        self.tight = bool(self.numbers)


def _anywhere(_address: str) -> bool:
    """Let every address through to `_keep_plain_links`, which leaves the text of those it refuses."""
    return True


def _reader() -> MarkdownIt:
    reader = MarkdownIt("commonmark", {"html": False})
    reader.validateLink = _anywhere  # type: ignore[method-assign, assignment]
    reader.core.ruler.push("keep_plain_links", _keep_plain_links)
    reader.core.ruler.push("level_headings", _level_headings)
    return reader


_READER: Final = _reader()
