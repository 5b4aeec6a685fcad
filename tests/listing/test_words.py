"""Words of a language: what is read, what is missing, what is never passed over in silence."""

import tomllib

import pytest

from listkit.listing.sentences import fill
from listkit.listing.words import Words, missing, parse_words, paths_of
from listkit.read.templates import own_templates

ENGLISH = dict(own_templates())["words/en.toml"]


def english() -> Words:
    words, problems = parse_words("en-GB", (("words/en.toml", ENGLISH),))
    assert problems == ()
    assert words is not None
    return words


def test_a_country_is_read_over_its_base_and_nothing_else() -> None:
    assert paths_of("words", "fr-CA") == ("words/fr.toml", "words/fr-CA.toml")
    assert paths_of("words", "fr") == ("words/fr.toml",)


def test_a_file_for_a_country_need_only_hold_what_is_different() -> None:
    own = '[headings]\ncare = "Looking after it"\n'
    words, problems = parse_words("en-US", (("words/en.toml", ENGLISH), ("words/en-US.toml", own)))
    assert problems == ()
    assert words is not None
    assert words.headings.care == "Looking after it"
    assert words.headings.contents == english().headings.contents


def test_a_language_without_words_is_a_problem_and_never_english() -> None:
    problem = missing("words", "fr-CA")
    assert (problem.code, str(problem.place)) == ("language-missing", "templates/words/fr.toml")
    assert (problem.message, problem.hint) == (
        'there is nothing in "fr-CA".',
        "Write this file after templates/words/en.toml.",
    )


def test_a_sentence_that_is_missing_is_named() -> None:
    text = "\n".join(line for line in ENGLISH.splitlines() if not line.startswith("sold_out"))
    words, problems = parse_words("en", (("words/en.toml", text),))
    assert words is None
    assert [one.message for one in problems] == ['there is no "sentences.sold_out".']


def test_there_are_words_for_a_shot_of_any_kind() -> None:
    _, problems = parse_words("en", (("words/en.toml", ENGLISH.replace('"other" = "{what}"', "")),))
    assert [one.message for one in problems] == ['there is no "shots.other".']


def test_a_place_that_a_sentence_does_not_have_is_named_with_those_it_has() -> None:
    text = ENGLISH.replace('season = "{title} for {season}"', 'season = "{title} for {seasons}"')
    words, problems = parse_words("en", (("words/en.toml", text),))
    assert words is None
    assert [(one.code, one.message, one.hint) for one in problems] == [
        ("template-fault", '"titles.season" has a place {seasons}.', "Known here: {title}, {season}.")
    ]


@pytest.mark.parametrize(
    ("sentence", "instead", "key", "place"),
    [
        ('again = "{text}, view {number}"', 'again = "{text}, once more"', "alt.again", "number"),
        ('chosen = "{head}, {choices}"', 'chosen = "{choices}: {head} ({choices})"', "titles.chosen", "choices"),
        ('chosen = "{head}, {choices}"', 'chosen = "{head}"', "titles.chosen", "choices"),
        ('applies_to = "{items}: {caution}"', 'applies_to = "{items}."', "sentences.applies_to", "caution"),
    ],
)
def test_a_place_without_which_a_fact_is_lost_is_asked_for(sentence: str, instead: str, key: str, place: str) -> None:
    """Without {number} a second view was looked for without end; with {choices} twice a NUL went into every name."""
    assert sentence in ENGLISH
    words, problems = parse_words("en", (("words/en.toml", ENGLISH.replace(sentence, instead)),))
    assert words is None
    assert [(one.code, one.message, one.hint) for one in problems] == [
        ("template-fault", f'"{key}" must have the place {{{place}}} once.', f"Write {{{place}}} in it.")
    ]


@pytest.mark.parametrize(
    ("sentence", "instead", "key", "place"),
    [
        ('from_price = "from {price}"', 'from_price = "from"', "sentences.from_price", "price"),
        ('unit_price = "{price} per {unit}"', 'unit_price = "per {unit}"', "net.unit_price", "price"),
        ('keeps = "Use within {time} of making."', 'keeps = "Use soon."', "sentences.keeps", "time"),
        ("Was {prior}, now {price} until", "Now {price} until", "sentences.reduced", "prior"),
        ("Milk is in the {items}.", "Milk is in it.", "ingredients.origins.milk", "items"),
        ('many = "{one}s"', 'many = "pieces"', "nouns.many", "one"),
        ('other = "{count} months"', 'other = "months"', "counted.month.other", "count"),
    ],
)
def test_a_place_without_which_a_figure_is_lost_may_stand_more_than_once(
    sentence: str, instead: str, key: str, place: str
) -> None:
    assert sentence in ENGLISH
    words, problems = parse_words("en", (("words/en.toml", ENGLISH.replace(sentence, instead)),))
    assert words is None
    assert [(one.code, one.message, one.hint) for one in problems] == [
        ("template-fault", f'"{key}" must have the place {{{place}}}.', f"Write {{{place}}} in it.")
    ]
    twice = ENGLISH.replace(sentence, sentence.replace(f"{{{place}}}", f"{{{place}}} {{{place}}}"))
    assert parse_words("en", (("words/en.toml", twice),))[1] == ()


@pytest.mark.parametrize(
    ("sentence", "key"),
    [
        ('box_outside = "', "box_outside"),
        ('box_inside = "', "box_inside"),
    ],
)
def test_an_empty_sentence_leaves_out_what_only_adds(sentence: str, key: str) -> None:
    """How large the box is may go unsaid; a sentence that stands there and has lost its figure is a slip."""
    whole = next(line for line in ENGLISH.splitlines() if line.startswith(sentence))
    words, problems = parse_words("en", (("words/en.toml", ENGLISH.replace(whole, f'{key} = ""')),))
    assert problems == ()
    assert words is not None
    assert getattr(words.sentences, key) == ""
    _, problems = parse_words("en", (("words/en.toml", ENGLISH.replace(whole, f'{key} = "Large."')),))
    assert [one.message for one in problems] == [f'"sentences.{key}" must have the place {{size}}.']


@pytest.mark.parametrize("key", ["from_price", "keeps", "applies_to", "prior", "mini_alone"])
def test_an_empty_sentence_never_leaves_out_a_price_a_figure_or_a_caution(key: str) -> None:
    whole = next(line for line in ENGLISH.splitlines() if line.startswith(f"{key} = "))
    words, problems = parse_words("en", (("words/en.toml", ENGLISH.replace(whole, f'{key} = ""', 1)),))
    assert words is None
    assert {one.code for one in problems} == {"template-fault"}
    assert all(one.message.startswith(f'"sentences.{key}" must have the place') for one in problems)


@pytest.mark.parametrize(
    ("sentence", "part"),
    [
        ('season = "{title} for {season}"', "season"),
        ('scent = "{title}, {scent} scent"', "scent"),
        ('count = "{title}, {count}"', "count"),
    ],
)
def test_an_owner_may_leave_a_part_out_of_her_titles(sentence: str, part: str) -> None:
    """Where a place takes short titles it is left out anyway; the title itself must stay."""
    assert sentence in ENGLISH
    assert parse_words("en", (("words/en.toml", ENGLISH.replace(sentence, f'{part} = "{{title}}"')),))[1] == ()
    _, problems = parse_words("en", (("words/en.toml", ENGLISH.replace(sentence, f'{part} = "gifts"')),))
    assert [one.message for one in problems] == [f'"titles.{part}" must have the place {{title}}.']


def test_a_slip_in_the_file_is_told_with_its_line() -> None:
    _, problems = parse_words("en", (("words/en.toml", 'a = "b"\nc = \n'),))
    assert [(one.code, str(one.place)) for one in problems] == [("template-fault", "templates/words/en.toml, line 2")]


def test_a_value_of_another_kind_is_told() -> None:
    text = ENGLISH.replace('card = "The box comes with a message card."', "card = 7")
    _, problems = parse_words("en", (("words/en.toml", text),))
    assert [one.message for one in problems] == ['"sentences.card" is not a text.']


def test_a_value_with_braces_in_it_stays_as_it_is() -> None:
    assert fill("{a} and {b}", a="{b}", b="two") == "{b} and two"


def test_plurals_follow_the_rules_of_the_language() -> None:
    """Unicode CLDR, plural rules: Polish has one (1), few (2–4, 22–24) and many (5–21); English one and other."""
    raw = tomllib.loads(ENGLISH)
    assert english().count("piece", 1) == "1 piece"
    assert english().count("piece", 3) == "3 pieces"
    assert raw["counted"]["piece"] == {"one": "{count} piece", "other": "{count} pieces"}
    polish = ENGLISH.replace(
        'piece = { one = "{count} piece", other = "{count} pieces" }',
        'piece = { one = "{count} sztuka", few = "{count} sztuki", many = "{count} sztuk", other = "{count} sztuki" }',
    )
    words, _ = parse_words("pl", (("words/pl.toml", polish),))
    assert words is not None
    assert [words.count("piece", number) for number in (1, 3, 5, 22)] == [
        "1 sztuka",
        "3 sztuki",
        "5 sztuk",
        "22 sztuki",
    ]


def test_lists_are_joined_as_the_language_joins_them() -> None:
    """Unicode CLDR, list patterns: British English puts no comma before the last "and" or "or"."""
    assert english().all_of(("soap", "balm", "butter")) == "soap, balm and butter"
    assert english().one_of(("100 ml", "150 g")) == "100 ml or 150 g"
