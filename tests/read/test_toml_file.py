"""TOML files become models; every fault has its line, also where the file breaks the rules of TOML."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.packaging import Packaging
from listkit.model.shop import Guess
from listkit.present.schema import FILES
from listkit.read.source import Source
from listkit.read.toml_file import parse_toml, read_toml, validated, without


def told(text: str) -> str:
    document, (problem,) = parse_toml(Source("f.toml", text), GiftSet)
    assert document is None
    assert problem.code == "syntax"
    return str(problem).removeprefix("Must fix · f.toml, ")


def test_an_unknown_key_is_reported_where_it_stands_with_a_suggestion() -> None:
    source = Source("channels/stall.toml", 'name = "Stall"\nfea = "2 %"\n')
    channel, problems = read_toml(source, Channel)
    assert channel is None
    assert str(problems[-1]) == 'Must fix · channels/stall.toml, line 2: there is no key "fea". Write "fee".'


def test_a_sound_file_gives_its_model_with_exact_numbers() -> None:
    text = '[[box]]\ncode = "S"\ninside = "1 x 1 x 1 cm"\nweight = "58 g"\ncost = 0.90\nminutes = 4.10\n'
    packaging, problems = read_toml(Source("packaging.toml", text), Packaging, currency="GBP")
    assert problems == []
    assert packaging is not None
    assert (str(packaging.boxes[0].cost), packaging.boxes[0].minutes) == ("0.90", Decimal("4.10"))


def test_a_fault_in_an_entry_is_told_on_its_line_with_its_key() -> None:
    top = 'code = "A"\nname = "N"\nbox = "S"\n[[contents]]\nitem = "X"\n\n'
    text = top + '[[contents]]\nslot = "Jar"\nchoose = [\n  "A",\n  "b b",\n]\n'
    _, (problem,) = read_toml(Source("set.toml", text), GiftSet)
    assert str(problem).startswith('Must fix · set.toml, line 11: item: "b b" is not a code.')
    assert problem.place.key == ("contents", 1, "choose", 1, "item")


def test_a_value_that_is_given_is_not_the_owners_to_write() -> None:
    channel, problems = read_toml(Source("c.toml", 'name = "A"\nmake = []\n'), Channel, given={"key": "web"})
    assert channel is not None
    assert (channel.key, problems) == ("web", [])
    channel, (problem,) = read_toml(Source("c.toml", 'name = "A"\nmake = []\nkey = "x"'), Channel, given={"key": "web"})
    assert channel is None
    assert (problem.code, problem.place.line) == ("unknown-key", 3)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a = 1\ncode = OHS-1", 'line 2: the value "OHS-1" is neither a number nor in quotes. Write code = "OHS-1".'),
        ('a = "x', "line 1: a quotation mark is not closed before the end. Close the quotes."),
        ('a = "x\nb = 1', "line 1: a quotation mark is not closed in 'a = \"x'. Close the quotes."),
        ("a = “x”", 'line 1: "a = “x”" has curly quotes. Use straight ones, as in name = "First Nectar".'),
        ("price = 24,50", 'line 1: "24,50" has a comma. Write price = "24.50" with a point.'),
        ("a = 1\n\na = 2", 'line 3: the key in "a = 2" stands twice. Keep one of the two.'),
        ("[a]\n[a]", 'line 2: the table "[a]" stands twice. Keep one; tables that may repeat have [[two brackets]].'),
        (
            "a = [1\nb = 2",
            'line 2: a list is not closed, or a comma is missing before "b = 2". Write it as in ["a", "b"].',
        ),
        ("on_sale = 2027-02-30", 'line 1: "2027-02-30" is not a day of the calendar. Write it as in 2027-02-28.'),
        (
            'a = "c:\\users"',
            "line 1: there is a backslash in 'a = \"c:\\users\"'. Write it twice, or use a forward slash.",
        ),
        ("a =", 'line 1: there is no value in "a =". Write one behind the equals sign, as in a = "...".'),
        ("a b", 'line 1: there is no equals sign behind the key in "a b". Write it as in name = "First Nectar".'),
        ("[a", 'line 1: a bracket is missing in "[a". Write [table] or [[table]] on a line of its own.'),
        (
            "on_sale = 01/12/2026",
            'line 1: "01/12/2026" is not written year, month, day. Write on_sale = 2026-12-01 or 2026-01-12.',
        ),
        (
            "on_sale = 1 December 2026  # a day",
            'line 1: "1 December 2026" is not written year, month, day. Write on_sale = 2026-12-01.',
        ),
        ("a = 1 b", 'line 1: something stands behind the value in "a = 1 b". Put it in quotes, one key a line.'),
    ],
)
def test_what_breaks_the_rules_of_toml_is_told_in_plain_words(text: str, words: str) -> None:
    assert told(text) == words


TWO = (
    'line {}: "[contents]" has one pair of brackets, and may stand several times. '
    "Write [[contents]] in two pairs, each time."
)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[contents]\nitem = "A"\n[[contents]]\nitem = "B"', TWO.format(1)),
        ('[contents]\nitem = "A"\n\n[contents]\nitem = "B"', TWO.format(1)),
        ('[[contents]]\nitem = "A"\n[contents]\nitem = "B"', TWO.format(3)),
        ('[ contents ]  # all of it\nitem = "A"\n\t[contents]\nitem = "B"', TWO.format(1)),
        ("[carton]\n[carton]", 'line 2: the table "[carton]" stands twice. '
                              "Keep one; tables that may repeat have [[two brackets]]."),
        ('name = "N"\n"[[contents]]"\nitem = "A"',
         "line 2: '\"[[contents]]\"' is a heading in quotes. Write [[contents]] without them."),
        ('contents = "[A]"\n[[contents]]\nitem = "B"',
         "line 1: 'contents = \"[A]\"' and \"[[contents]]\" on line 2 cannot both be there. "
         "Keep one: take this line out, or the headings."),
    ],
)  # fmt: skip
def test_a_heading_that_cannot_stand_as_it_does_is_told_with_its_brackets(text: str, words: str) -> None:
    assert told(text) == words


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('theme = """\n[contents]\n"""\nname = First\n[[contents]]\nitem = "A"', 4),
        ("theme = '''\n[contents]\n\\'''\nname = First\n[[contents]]", 4),
        ('theme = """a\n"[[contents]]"\nitems = 1\n\\"""\n[items]"""\nname = First', 6),
        ('theme = \'a """ b\'  # isn\'t """\nname = First\n[contents]\n', 2),
    ],
)
def test_what_looks_like_a_heading_within_a_text_is_none(text: str, line: int) -> None:
    assert told(text) == f'line {line}: the value "First" is neither a number nor in quotes. Write name = "First".'


def test_a_heading_behind_a_text_of_many_lines_is_told() -> None:
    assert told('theme = """\n[items]\n"""\n[contents]\nitem = "A"\n[[contents]]') == TWO.format(4)
    assert told('# isn\'t """\n[contents]\nitem = "A"\n[[contents]]') == TWO.format(2)


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "9" * 5000,
        "a = " + "[" * 5000,
        "a = " + "{b=" * 3000,
        "a=1_e_5",
        "[" + " " * 20_000,
        "[a" + " " * 20_000 + "b\n",
        '"[a' * 5_000,
    ],
)
def test_monstrous_texts_are_told_too(text: str) -> None:
    assert told(text)


def test_keys_of_very_many_parts_are_refused_before_they_fill_the_memory() -> None:
    """tomllib keeps every beginning of a dotted key: ten thousand parts took 0.4 GB, measured."""
    for text in ("a." * 10_000 + "a = 1", "[" + "a." * 200 + "a]\n"):
        assert (
            parse_toml(Source("f.toml", text), GiftSet)[1][0].message
            == "it has keys of more parts than any file needs."
        )
    assert parse_toml(Source("f.toml", 'a.b.c = "one. two. three..."\n'), GiftSet)[1] == []


@pytest.mark.parametrize("number", ["1e5", "nan", "inf", "-inf", "1e999999999999", "1_0.5e3"])
def test_powers_of_ten_and_what_is_no_number_are_refused_by_the_field(number: str) -> None:
    text = f'code = "A"\nname = "N"\nbox = "S"\nprice = {number}\n[[contents]]\nitem = "X"\n'
    _, (problem,) = read_toml(Source("set.toml", text), GiftSet, currency="GBP")
    assert (problem.code, problem.place.line) == ("bad-value", 4)


def test_a_document_goes_on_without_its_broken_parts() -> None:
    document = {"box": [{"code": "S"}, {"code": "M", "inside": "1 x 1 x 1 cm", "weight": "1 g", "cost": "1"}], "x": 1}
    packaging, faults = validated(document, Packaging)
    assert packaging is None
    sound, rest = validated(without(document, faults), Packaging)
    assert rest == []
    assert sound is not None
    assert [box.code for box in sound.boxes] == ["M"]


def test_a_table_that_misses_a_key_goes_as_a_whole() -> None:
    document = {"card": {"weight": "1 g"}, "box": []}
    _, faults = validated(document, Packaging)
    assert without(document, faults) == {"box": []}


@settings(deadline=None)
@given(st.text(max_size=80))
def test_any_text_is_read_or_told(text: str) -> None:
    model, problems = read_toml(Source("f.toml", text), GiftSet)
    assert model is None
    assert problems
    assert all("\n" not in str(problem) for problem in problems)


@settings(deadline=None)
@given(st.text('ab"=[]{}#,.\\\n 1-', max_size=40))
def test_any_text_of_toml_signs_is_read_or_told(text: str) -> None:
    assert read_toml(Source("f.toml", text), GiftSet)[1]


@pytest.mark.parametrize("guess", Guess)
@pytest.mark.parametrize("file", [file for file in FILES if file.endswith(".toml")])
def test_values_of_any_kind_have_stand_ins(file: str, guess: Guess) -> None:
    """A table where a list belongs is taken for one entry, whose place is a number and no key of the table."""
    model = FILES[file]
    for key, field in model.model_fields.items():
        for value in ({"x": 1}, {"": 1}, [{"x": 1}], [[1]], ["x", {}], 1, True):
            assert isinstance(validated({field.alias or key: value}, model, guess=guess)[1], list)
