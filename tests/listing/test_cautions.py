"""Cautions in words."""

import pytest

from listkit.listing.declared import Cautions, caution_lines, in_few_words, parse_cautions
from listkit.model.item import Item
from tests.listing.shops import item
from tests.listing.test_words import english

TEXT = """
note = "What stands in no table is no caution."
[dry]
text = "Keep dry."
source = "common practice, no source"
[eyes]
text = "Keep out of the eyes."
source = "common practice, no source"
"""


def cautions() -> Cautions:
    read, problems = parse_cautions((("cautions/en.toml", TEXT),))
    assert problems == ()
    assert read is not None
    return read


def of(code: str, form: str, *entries: str) -> Item:
    return item(code=code, name=code, form=form, cautions=entries)


def test_a_key_gives_its_sentence_and_an_entry_with_a_space_is_the_owner_s_own() -> None:
    assert cautions().of(of("A", "bar", "eyes", "Not for cats.", "dry", "eyes")) == (
        "Keep out of the eyes.",
        "Not for cats.",
        "Keep dry.",
    )


def test_a_country_says_only_what_is_different() -> None:
    own = '[dry]\ntext = "Store dry."\n'
    read, _ = parse_cautions((("cautions/en.toml", TEXT), ("cautions/en-US.toml", own)))
    assert read == Cautions((("dry", "Store dry."), ("eyes", "Keep out of the eyes.")))


def test_a_key_without_a_sentence_is_left_to_the_checks() -> None:
    assert cautions().of(of("A", "bar", "no-such-key", "dry")) == ("Keep dry.",)


def test_a_caution_stands_once_with_what_it_is_for() -> None:
    items = (of("A", "bar soap", "dry", "eyes"), of("B", "bar soap", "dry", "eyes"), of("C", "lip balm", "dry"))
    assert caution_lines(english(), cautions().of, items) == ("Keep dry.", "Bar soap: Keep out of the eyes.")


def test_where_not_all_of_one_form_are_meant_items_are_named() -> None:
    items = (of("A", "bar soap", "eyes"), of("B", "bar soap"), of("C", "lip balm", "eyes"))
    assert caution_lines(english(), cautions().of, items) == ("A bar soap and lip balm: Keep out of the eyes.",)
    assert in_few_words(english(), items[1:], items) == ("B bar soap", "lip balm")


@pytest.mark.parametrize("line", ["source = 'x'", "text = ''", "text = '  '"])
def test_a_table_without_sentence_is_told_so_that_no_warning_is_printed_empty(line: str) -> None:
    read, problems = parse_cautions((("cautions/en.toml", f"[dry]\n{line}\n"),))
    assert read is None
    assert [(one.code, one.place.file, one.message) for one in problems] == [
        ("template-fault", "templates/cautions/en.toml", '"dry" has no sentence.')
    ]


def test_a_slip_is_told_with_its_place() -> None:
    _, problems = parse_cautions((("cautions/en.toml", "[dry]\ntext = x\n"),))
    assert [str(one.place) for one in problems] == ["templates/cautions/en.toml, line 2"]
