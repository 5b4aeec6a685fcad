"""Words of what is printed: ours, an owner's for one country, and what is wrong with a file of them."""

import pytest

from listkit.listing.day_words import MarketWords
from listkit.listing.plan_words import CalendarWords
from listkit.listing.print_words import (
    CardWords,
    Kinds,
    LabelWords,
    OrderWords,
    PrintWords,
    SheetWords,
    print_words,
    read_sections,
)
from listkit.listing.proof import ProofWords
from listkit.model.shop import Templates
from listkit.read.templates import own_templates

OURS = own_templates()


def with_words(**files: str) -> Templates:
    texts = dict(OURS) | {f"print/{name.replace('_', '-')}.toml": text for name, text in files.items()}
    return Templates(tuple(texts.items()))


def words(templates: Templates, language: str = "en-GB") -> PrintWords:
    found, problems = print_words(templates, language)
    assert problems == ()
    assert found is not None
    return found


def test_a_country_is_read_over_its_language() -> None:
    own = words(with_words(en_GB='[sheet]\nversion = "Edition"\n'))
    assert (own.sheet.version, own.sheet.issued) == ("Edition", "Issued")


def test_a_language_without_words_is_told() -> None:
    found, [problem] = print_words(Templates(OURS), "fi-FI")
    assert found is None
    assert problem.code == "language-missing"


def test_what_is_missing_or_strange_in_words_is_told_with_its_key() -> None:
    short = '[sheet]\nversion = 5\nreplaces = "Replaces {other}"\n'
    found, problems = print_words(with_words(en_GB=short), "en-GB")
    assert found is None
    assert [(one.code, one.message, one.hint) for one in problems] == [
        ("template-fault", '"sheet.version" is not a text.', "Write it in quotes."),
        ("template-fault", '"sheet.replaces" has a place {other}.', "Known here: {version}."),
    ]
    _, [problem] = print_words(with_words(en_GB="[sheet\n"), "en-GB")
    assert problem.place.file == "templates/print/en-GB.toml"


def test_words_that_came_later_may_be_missing_from_an_owners_file() -> None:
    known = dict(own_templates())
    text = "".join(line for line in known["print/en.toml"].splitlines(True) if not line.startswith("any_time"))
    words, problems = print_words(Templates((("print/en.toml", text),)), "en")
    assert problems == ()
    assert words is not None
    assert (words.sheet.any_time, words.sheet.as_ordered) == ("", "as ordered")


@pytest.mark.parametrize(
    ("file", "kinds", "sentence", "instead", "place"),
    [
        ("label", (("card", CardWords),), 'priced = "{option} {price}"', 'priced = "{option}"', "card.priced: {price}"),
        ("label", (("label", LabelWords),), 'country = "Country of origin: {country}"', 'country = "Origin"',
         "label.country: {country}"),
        ("print", (("sheet", SheetWords),), 'was = "was {amount}"', 'was = "was more"', "sheet.was: {amount}"),
        ("print", (("order", OrderWords),), "{code} costs {price} each", "It costs {price} each",
         "order.other_price: {code}"),
        ("day", (("market", MarketWords),), "{wanted} wanted, {take}", "{take}", "market.short: {wanted}"),
        ("plan", (("calendar", CalendarWords),), "Pour {name}, batches: {count}", "Pour {name}",
         "calendar.pour: {count}"),
        ("proof", (("proof", ProofWords),), "{size} of {limit} {unit}", "{size} {unit}", "proof.size_of: {limit}"),
    ],
)  # fmt: skip
def test_a_sentence_without_a_place_that_carries_a_fact_is_told(
    file: str, kinds: Kinds, sentence: str, instead: str, place: str
) -> None:
    """A price card whose words have no {price} printed none, and nothing was said."""
    path = f"{file}/en.toml"
    text = dict(OURS)[path]
    assert text.count(sentence) == 1
    sections, problems = read_sections(Templates(((path, text.replace(sentence, instead)),)), file, "en", kinds)
    key, _, lost = place.partition(": ")
    assert sections is None
    assert [(one.place.file, one.code, one.message, one.hint) for one in problems] == [
        (f"templates/{path}", "template-fault", f'"{key}" must have the place {lost}.', f"Write {lost} in it.")
    ]


@pytest.mark.parametrize("key", ["seen_in", "replaces"])
def test_a_line_sheet_goes_without_a_sentence_that_only_adds(key: str) -> None:
    """Which set lent a picture, and which sheet this one replaces: an owner empties them to leave them out."""
    text = dict(OURS)["print/en.toml"]
    whole = next(line for line in text.splitlines() if line.startswith(f"{key} = "))
    emptied = Templates((("print/en.toml", text.replace(whole, f'{key} = ""')),))
    sections, problems = read_sections(emptied, "print", "en", (("sheet", SheetWords),))
    assert problems == ()
    assert sections is not None
    assert getattr(sections["sheet"], key) == ""


@pytest.mark.parametrize(
    ("file", "key", "kind"),
    [
        ("print", "was", SheetWords), ("print", "at_least", SheetWords), ("print", "case_of", SheetWords),
        ("plan", "pour", CalendarWords),
    ],
)  # fmt: skip
def test_a_price_or_figure_is_not_left_out_by_an_empty_sentence(file: str, key: str, kind: type) -> None:
    path, section = f"{file}/en.toml", "sheet" if file == "print" else "calendar"
    text = dict(OURS)[path]
    whole = next(line for line in text.splitlines() if line.startswith(f"{key} = "))
    emptied = Templates(((path, text.replace(whole, f'{key} = ""', 1)),))
    sections, problems = read_sections(emptied, file, "en", ((section, kind),))
    assert sections is None
    assert {one.code for one in problems} == {"template-fault"}


def test_a_price_card_may_list_what_may_be_chosen_without_saying_of_what() -> None:
    text = dict(OURS)["label/en.toml"].replace('options = "{slot}: {options}"', 'options = "{options}"')
    sections, problems = read_sections(Templates((("label/en.toml", text),)), "label", "en", (("card", CardWords),))
    assert problems == ()
    assert sections is not None
    assert sections["card"].options == "{options}"


def test_a_page_may_be_numbered_without_saying_of_how_many() -> None:
    assert words(with_words(en_GB='[sheet]\npage = "{number}"\n')).sheet.page == "{number}"
