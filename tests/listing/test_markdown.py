"""A story as HTML and as plain text; values that stay literal; any text at all is read."""

import re
import sys
from html.parser import HTMLParser
from types import FrameType
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from listkit.listing.markdown import MOST_TEXT, escape_markdown, joined, one_line, to_html, to_plain

ALLOWED = {
    "p": (), "h1": (), "h2": (), "h3": (), "h4": (), "h5": (), "h6": (), "ul": (), "li": (), "em": (), "strong": (),
    "blockquote": (), "pre": (), "hr": (), "br": (), "ol": ("start",), "code": ("class",), "a": ("href", "title"),
}  # fmt: skip
MARKS = "*_`[]()<>#+-=.!&;:\\~|\"'/ \n\t0123456789abcxyz"
marked = st.text(alphabet=MARKS, max_size=60) | st.text(max_size=60)


class Tags(HTMLParser):
    """The tags of a page with their attributes, and its text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def tags_of(page: str) -> Tags:
    reader = Tags()
    reader.feed(page)
    reader.close()
    return reader


STORY = """# First *Nectar*

The first warm morning,
in one box.\\
Made &amp; packed by us, see [our bench](https://ottermarl.example/bench).

- a bar
- a **jar**
  - with a lid
- a tin

3. open
4. enjoy

> Keep dry.
"""


def test_a_story_becomes_html() -> None:
    assert to_html("A *warm* [bench](https://ottermarl.example) & more") == (
        '<p>A <em>warm</em> <a href="https://ottermarl.example">bench</a> &amp; more</p>\n'
    )


def test_a_story_becomes_plain_text() -> None:
    assert to_plain(STORY) == (
        "First Nectar\n\n"
        "The first warm morning, in one box.\n"
        "Made & packed by us, see our bench (https://ottermarl.example/bench).\n\n"
        "- a bar\n- a jar\n  - with a lid\n- a tin\n\n"
        "3. open\n4. enjoy\n\n"
        "Keep dry."
    )


@pytest.mark.parametrize(
    ("markdown", "plain"),
    [
        ("<https://ottermarl.example>", "https://ottermarl.example"),
        ("[write](mailto:hello@ottermarl.example)", "write (hello@ottermarl.example)"),
        ("[click](javascript:alert(1))", "click"),
        ("![a closed box](photos/box.jpg)", "a closed box"),
        ("- one\n\n  more of one\n\n- two", "- one\n\n  more of one\n\n- two"),
        ("-\n- two", "-\n- two"),
        ("0. none\n1. one", "0. none\n1. one"),
        ("    as typed\n      here", "as typed\n  here"),
        ("- - deep\n- flat", "- - deep\n- flat"),
        ("above\n\n***\n\nbelow", "above\n\nbelow"),
        ("`a  b`", "a  b"),
        ("", ""),
    ],
)
def test_marks_are_dropped_and_words_stay(markdown: str, plain: str) -> None:
    assert to_plain(markdown) == plain


@pytest.mark.parametrize(
    "markdown",
    [
        "<script>alert(1)</script>",
        "<img src=x onerror=alert(1)>",
        "[a](javascript:alert(1))",
        "[a](JaVaScRiPt:alert(1))",
        "[a](data:text/html;base64,PHNjcmlwdD4=)",
        "[a](file:///etc/passwd)",
        "[a](//elsewhere.example)",
        "[a]( \x01javascript:alert(1))",
        "[a](&#106;avascript:alert(1))",
        "<javascript:alert(1)>",
        '[a](https://x.example/"onmouseover="alert(1))',
        '[a](https://x.example "x\\" onmouseover=\\"alert(1)")',
        "![a](https://x.example/pixel.gif)",
        "[a]: javascript:alert(1)\n\n[a]",
        "[![a](javascript:alert(1))](https://x.example)",
    ],
)
def test_a_hostile_story_leaves_nothing_that_runs_or_fetches(markdown: str) -> None:
    for tag, attributes in tags_of(to_html(markdown)).tags:
        assert tag in ALLOWED
        assert set(attributes) <= set(ALLOWED[tag])
        assert str(attributes.get("href", "https://")).startswith(("https://", "http://", "mailto:"))


@given(marked)
def test_any_text_is_read_and_gives_no_tag_but_ours(text: str) -> None:
    for tag, attributes in tags_of(to_html(text)).tags:
        assert tag in ALLOWED
        assert set(attributes) <= set(ALLOWED[tag])
        assert str(attributes.get("href", "https://")).lower().startswith(("https://", "http://", "mailto:"))
    to_plain(text)


@given(st.lists(st.text(alphabet="abcdefg", min_size=1), min_size=1))
def test_words_without_marks_come_out_as_they_went_in(words: list[str]) -> None:
    assert to_plain(" ".join(words)) == " ".join(words)
    assert to_html(" ".join(words)) == f"<p>{' '.join(words)}</p>\n"


@pytest.mark.parametrize(
    "unit",
    ["[", "[a](", "![a", "> ", "- ", "1. ", "*a **a ", "`", "<", "&#", "a](b)", "![[]()", "\\", "a\n=\n", "_a", "\t"],
)
def test_the_work_grows_with_the_length_whatever_the_marks(unit: str) -> None:
    """Counted in lines of Python that run, which no clock moves: ten times the text takes at most fifteen times."""

    def lines_run(length: int) -> int:
        text, ran = unit * (length // len(unit)), 0

        def count(_frame: FrameType, event: str, _arg: object) -> Any:
            nonlocal ran
            ran += event == "line"
            return count

        sys.settrace(count)
        try:
            to_html(text)
            to_plain(text)
        finally:
            sys.settrace(None)
        return ran

    assert lines_run(2_000) < 15 * lines_run(200)


def test_a_text_beyond_the_bound_is_given_as_it_stands() -> None:
    text = "*a* <b> " * (MOST_TEXT // 8 + 1)
    assert to_plain(text) == text
    assert "<b>" not in to_html(text)


def test_half_a_character_becomes_the_sign_for_an_unknown_one() -> None:
    assert to_plain("a\ud800b") == "a\ufffdb"


def test_a_text_on_one_line_keeps_its_no_break_spaces() -> None:
    assert one_line(" 24,00\u00a0€ \n\n the\tset ") == "24,00\u00a0€ the set"


@pytest.mark.parametrize(
    "name",
    ["*Crème* & [x](y)", "# 1", "1. April", "- dry -", "a&lt;", "a_b_c", "<b>", "`x`", "1) x", "+", "==", "\\", "_x_",
     "__x__", "~~x~~", "~~~", "x &amp", "&#65;", "***", "---", "> x", "[x]: y", "https://x.example/a_b_c"],
)  # fmt: skip
def test_a_name_comes_out_of_markdown_as_it_was_typed(name: str) -> None:
    assert shown(escape_markdown(name)).text.strip() == name


def test_a_name_without_marks_stays_readable() -> None:
    name = "Rosemary & Rind (110 g), 50 % more - Nº 5! x"
    assert escape_markdown(name) == name


def literal(text: str) -> str:
    """What a page shows of `text`: spaces run together, none at the ends, NUL as U+FFFD (CommonMark 0.31.2, 2.3)."""
    return one_line(text).replace("\0", "\ufffd").strip()


def can_be_shown(text: str) -> bool:
    """Without half characters, which no file holds, and rare spaces at its ends, which the reader drops."""
    return not any("\ud800" <= sign <= "\udfff" for sign in text) and text.strip() == text.strip(" \t\r\n\f\v")


value = marked.filter(can_be_shown)


def shown(markdown: str) -> Tags:
    """CommonMark as markdown-it-py reads it; HTML, tables and strikethrough are on, so that a mark left shows."""
    return tags_of(MarkdownIt("commonmark").enable(["table", "strikethrough"]).render(markdown))


@given(value, st.sampled_from(("", "- ", "1. ", "> ", "word ", "word\n", "word\n\n", "# ", "**a** ")))
def test_escaped_text_is_literal_wherever_it_stands(text: str, before: str) -> None:
    start = shown(f"{before}x").text.rstrip().removesuffix("x")
    assert literal(shown(f"{before}{escape_markdown(text)}").text) == literal(start + text)


def test_a_sign_at_the_end_of_a_heading_does_not_close_it() -> None:
    """CommonMark 0.31.2, 4.2: a closing sequence of number signs is no part of the heading."""
    assert shown(f"# {escape_markdown('Balm #')}").text.strip() == "Balm #"


def test_a_value_stays_in_its_cell_of_a_table() -> None:
    page = shown(f"|name|weight|\n|--|--|\n|{escape_markdown('Rind | Rosemary')}|119 g|\n")
    assert [word for word in page.text.split("\n") if word] == ["name", "weight", "Rind | Rosemary", "119 g"]


@example("1", ". x")
@example("1", ") x")
@example("&", "amp;")
@example("!", "[x](y)")
@example("-", " x")
@example(" # x", "")
@example(" 1. x", "")
@given(value, value)
def test_two_values_side_by_side_make_no_markup_between_them(one: str, two: str) -> None:
    page = shown(escape_markdown(one) + escape_markdown(two))
    assert literal(page.text) == literal(one + two)
    assert [tag for tag, _ in page.tags] in (["p"], [])


@pytest.mark.parametrize(
    ("story", "levels", "written"),
    [
        ("# A\n\n## B\n\n# C\n", (3, 4, 3), "### A\n\n#### B\n\n### C\n"),
        ("## A\n\n##### B\n\n### C\n\n# D\n", (3, 4, 4, 3), "### A\n\n#### B\n\n#### C\n\n### D\n"),
        ("A\n=\n\nB\n---\n", (3, 4), "### A\n\n#### B\n"),
        ("# A\n\n## B\n\n### C\n\n#### D\n\n##### E\n", (3, 4, 5, 6, 6), None),
        ("> # A #\n>\n> ## B\n", (3, 4), "> ### A #\n>\n> #### B\n"),
        ("# A", (3,), "### A"),
    ],
)
def test_headings_of_a_story_begin_below_those_of_the_page_and_skip_no_level(
    story: str, levels: tuple[int, ...], written: str | None
) -> None:
    """WCAG 2.2, technique G141: headings are nested by their levels; an expression reads the tags."""
    assert tuple(map(int, re.findall(r"<h([1-6])>", to_html(story)))) == levels
    assert to_html(joined(story)) == to_html(story)
    if written is not None:
        assert joined(story) == written


def test_lines_of_a_paragraph_are_joined_in_html_and_markdown_and_hard_ends_stay() -> None:
    """CommonMark 0.31.2, 6.7 and 6.8: a renderer may give a soft line break as a space; a hard one stays a break."""
    story = (
        "One warm day\nin spring.\n\n> quoted\n> on\n\n- first\n  line\n- end  \n  here\n\nSo:\n\n    code\n    stays\n"
    )
    assert to_html(story) == (
        "<p>One warm day in spring.</p>\n<blockquote>\n<p>quoted on</p>\n</blockquote>\n"
        "<ul>\n<li>first line</li>\n<li>end<br />\nhere</li>\n</ul>\n"
        "<p>So:</p>\n<pre><code>code\nstays\n</code></pre>\n"
    )
    assert joined(story) == (
        "One warm day in spring.\n\n> quoted on\n\n- first line\n- end  \n  here\n\nSo:\n\n    code\n    stays\n"
    )


@given(marked)
@example("\n0\r0")
def test_joined_lines_read_as_they_did(text: str) -> None:
    assert to_html(joined(text)) == to_html(text)
    assert to_plain(joined(text)) == to_plain(text)
