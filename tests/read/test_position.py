"""Every key of a TOML text is found where it stands; nothing raises on text that is none."""

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.problem import KeyPath
from listkit.read.position import locate, locate_words, positions

SET = """\
# a set
code = "OHS-1"
"odd key" = { weight = "10 g", 'co.st' = "0.10" }
site.name = "x"
text = \"\"\"
[[contents]]
item = "not this one"
\"\"\"

[[contents]]
item = "OH-B01"

[[contents]]
slot = "Jar"
choose = [
    "OH-S03",  # item = "no"
    { item = "OH-U02",
      part = "U02" },
]
[contents.fill]
cost = '''
]'''
[a.b.c]
d = 2027-02-28 07:32:00
"""


@pytest.mark.parametrize(
    ("path", "place"),
    [
        (("code",), (2, 1)),
        (("odd key", "weight"), (3, 15)),
        (("odd key", "co.st"), (3, 32)),
        (("site", "name"), (4, 6)),
        (("contents", 0), (10, 1)),
        (("contents", 0, "item"), (11, 1)),
        (("contents", 1, "slot"), (14, 1)),
        (("contents", 1, "choose", 0), (16, 5)),
        (("contents", 1, "choose", 1), (17, 5)),
        (("contents", 1, "choose", 1, "part"), (18, 7)),
        (("contents", 1, "fill", "cost"), (21, 1)),
        (("a",), (23, 1)),
        (("a", "b", "c", "d"), (24, 1)),
    ],
)
def test_keys_are_found_where_they_stand(path: KeyPath, place: tuple[int, int]) -> None:
    assert locate(SET, path) == place


def test_what_is_missing_is_told_at_the_table_that_should_hold_it() -> None:
    assert locate(SET, ("contents", 0, "quantity")) == (10, 1)
    assert locate(SET, ("contents", 1, "choose", 0, "item")) == (16, 5)
    assert locate(SET, ("season",)) == (0, 0)
    assert locate(SET, ()) == (0, 0)


def test_windows_line_ends_and_a_last_line_without_end_count_alike() -> None:
    assert locate(SET.replace("\n", "\r\n").strip(), ("a", "b", "c", "d")) == (24, 1)


def test_words_of_a_story_are_found_however_they_are_wrapped() -> None:
    story = "# First\n\nA bar that costs\nonly £7.50 today.\n"
    assert locate_words(story, "costs only £7.50") == 3
    assert locate_words(story, "not there") == 0
    assert locate_words(story, " ") == 0


BARE = st.text("abcdefgh_-0123", min_size=1, max_size=6)
PLAIN = ["12", "-1.5", "true", "2027-02-28", "2027-02-28 07:32:00", "1e5", "nan"]
TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12)


def _key(name: str, style: int) -> str:
    """Write a key bare, in double or in single quotes."""
    if style == 0 and name and all(sign in "abcdefgh_-0123" for sign in name):
        return name
    if style == 1 and "'" not in name:
        return f"'{name}'"
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'


class _Writer:
    """Writes a document by the rules of TOML and notes on which line each key stands."""

    def __init__(self, draw: st.DrawFn) -> None:
        self.draw = draw
        self.text = ""
        self.lines: dict[KeyPath, int] = {}

    def add(self, text: str) -> None:
        self.text += text

    def note(self, path: KeyPath) -> None:
        self.lines.setdefault(path, self.text.count("\n") + 1)

    def names(self) -> list[str]:
        return self.draw(st.lists(st.one_of(BARE, TEXT), min_size=1, max_size=3, unique=True))

    def key(self, name: str) -> str:
        return _key(name, self.draw(st.integers(0, 2)))

    def string(self) -> str:
        value = self.draw(TEXT)
        style = self.draw(st.integers(0, 3))
        if style == 1 and "'" not in value:
            return f"'{value}'"
        if style == 2:
            return '"""\n' + value.replace("\\", "\\\\").replace('"', '\\"') + '\n[x]\nkey = 1\n""two"""""'
        if style == 3 and "'" not in value:
            return f"'''{value}\n[[y]]\n''z'''"
        return _key(value, 2)

    def value(self, path: KeyPath, depth: int) -> None:
        kind = self.draw(st.integers(0, 5 if depth < 3 else 3))
        if kind <= 1:
            self.add(self.string())
        elif kind == 2:
            self.add(self.draw(st.sampled_from(PLAIN)))
        elif kind == 3:
            self.add("[]")
        elif kind == 4:
            self.list(path, depth)
        else:
            self.braces(path, depth)

    def list(self, path: KeyPath, depth: int) -> None:
        gap = self.draw(st.sampled_from([" ", "\n  ", " # ] } = \n\n"]))
        self.add("[")
        for index in range(self.draw(st.integers(1, 3))):
            self.add(gap)
            self.note((*path, index))
            self.value((*path, index), depth + 1)
            self.add(gap + ",")
        self.add(gap + "]")

    def braces(self, path: KeyPath, depth: int) -> None:
        self.add("{")
        for number, name in enumerate(self.names()):
            self.add(", " if number else " ")
            self.note((*path, name))
            self.add(f"{self.key(name)} = ")
            self.value((*path, name), depth + 1)
        self.add(" }")

    def pairs(self, path: KeyPath) -> None:
        for name in self.names():
            self.add(self.draw(st.sampled_from(["", "\n", "# [t]\n", "  "])))
            self.note((*path, name))
            self.add(self.key(name))
            place = (*path, name)
            if self.draw(st.booleans()):
                inner = self.draw(BARE)
                place = (*place, inner)
                self.note(place)
                self.add(f" . {inner}")
            self.add("\t= ")
            self.value(place, 0)
            self.add(self.draw(st.sampled_from(["\n", " # end\n", "\r\n"])))


@st.composite
def documents(draw: st.DrawFn) -> tuple[str, dict[KeyPath, int]]:
    """Return a TOML document and the line of each of its keys."""
    writer = _Writer(draw)
    writer.pairs(())
    for number in range(draw(st.integers(0, 3))):
        name, many = f"T{number}", draw(st.booleans())
        for index in range(draw(st.integers(1, 3)) if many else 1):
            path: KeyPath = (name, index) if many else (name,)
            writer.note((name,))
            writer.note(path)
            writer.add(f"[[ {name} ]]\n" if many else f"[{name}]\n")
            writer.pairs(path)
            if draw(st.booleans()):
                writer.note((*path, "Sub"))
                writer.note((*path, "Sub", "Deep"))
                writer.add(f"[{name}.Sub.'Deep']\n")
                writer.pairs((*path, "Sub", "Deep"))
    return writer.text, writer.lines


def _paths(value: Any, path: KeyPath = ()) -> set[KeyPath]:
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return {path} | {deeper for key, part in inner for deeper in _paths(part, (*path, key))}


@settings(deadline=None)
@given(documents())
def test_every_key_that_the_standard_parser_reads_is_found(document: tuple[str, dict[KeyPath, int]]) -> None:
    """The peer is tomllib of the Python standard library."""
    text, lines = document
    paths = _paths(tomllib.loads(text)) - {()}
    assert positions(text).keys() == paths == lines.keys()
    assert {path: locate(text, path)[0] for path in paths} == lines


@settings(deadline=None)
@given(st.text("[]{}=\"'\\,.#ab1 \n\r", max_size=60))
def test_no_text_makes_the_scanner_raise_or_hang(text: str) -> None:
    size = text.count("\n") + 1
    assert all(1 <= line <= size and column >= 1 for line, column in positions(text).values())


def test_lists_within_lists_beyond_all_measure_are_borne() -> None:
    assert locate("a = 1\nb = " + "[" * 100_000, ("a",)) == (1, 1)
