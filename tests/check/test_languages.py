"""What a channel in another language lacks.

Our own rule, that nothing goes out half translated: common practice, no source.
"""

import tomllib
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest

from listkit.bounded_toml import parse_bounded
from listkit.check import languages
from listkit.model.shop import Shop, Templates
from listkit.model.translation import Translation
from listkit.problem import Problem
from listkit.read.templates import own_templates
from tests.check.found import found
from tests.check.test_claims import clean
from tests.small_shop import channel, item, settings

WHOLE: dict[str, Any] = {
    "forms": {"bar soap": "savon", "balm": "baume"},
    "items": {"A-1": "Romarin", "A-2": "Trèfle"},
    "sets": {"SET-1": {"name": "Un", "theme": "Deux.", "keywords": ["trois"], "slots": {"Jar": "Pot"}}},
}


def lacks(words: dict[str, Any] | None, **says: Any) -> list[tuple[str, str, str]]:
    items = [item("A-1", name="Rosemary"), item("A-2", name="Clover", form="balm", **says.pop("of", {}))]
    made = clean(items=items, theme="Two.", keywords=["three"], channels=(channel(language="fr"),), **says)
    own = () if words is None else (("fr", Translation.model_validate(words)),)
    of = replace(made, translations=own)
    return [(one.code, ".".join(map(str, one.place.key)), one.message) for one in found("language-missing", of)]


def test_a_whole_translation_has_nothing_to_tell() -> None:
    assert lacks(WHOLE) == []


def test_without_any_file_one_problem_says_what_to_write() -> None:
    assert lacks(None) == [
        ("language-missing", "", 'Stall reads "fr", and nothing says what your goods are called there.')
    ]


@pytest.mark.parametrize(
    ("changes", "where", "what"),
    [
        ({"forms": {"bar soap": "savon"}}, "forms", '[forms] has nothing in "fr" for "balm".'),
        ({"items": {}}, "items", '[items] has nothing in "fr" for "A-1" and "A-2".'),
        ({"sets": {}}, "sets", '[sets.SET-1] is not there: First Set has no name in "fr".'),
        ({"sets": {"SET-1": {**WHOLE["sets"]["SET-1"], "theme": ""}}}, "sets.SET-1.name", "First Set has no theme in"),
        ({"sets": {"SET-1": {**WHOLE["sets"]["SET-1"], "slots": {}}}}, "sets.SET-1.slots", "[sets.SET-1.slots] has"),
    ],
)
def test_each_section_that_lacks_a_word_is_told_once_with_its_place(
    changes: dict[str, Any], where: str, what: str
) -> None:
    [(code, place, message)] = lacks(WHOLE | changes)
    assert (code, place) == ("language-missing", where)
    assert message.startswith(what)


def test_two_slots_of_one_name_are_told() -> None:
    """The sizes of the last were told of both, and what may be chosen of the first stood nowhere."""
    contents = [{"slot": "Jar", "choose": ["A-1", "A-2"]}, {"slot": "Tin", "choose": ["A-2", "A-1"]}]
    slots = {"Jar": "Pot", "Tin": "Pot"}
    words = WHOLE | {"sets": {"SET-1": {**WHOLE["sets"]["SET-1"], "slots": slots}}}
    assert lacks(words, contents=contents) == [
        ("code-twice", "sets.SET-1.slots.Tin", 'two slots of First Set are called "Pot" in "fr".')
    ]
    assert (
        lacks(
            WHOLE | {"sets": {"SET-1": {**words["sets"]["SET-1"], "slots": slots | {"Tin": "Étui"}}}}, contents=contents
        )
        == []
    )


def test_scents_containers_and_own_cautions_need_words_too() -> None:
    of = {"scent": "clover", "container": "tin", "cautions": ["Mind the cat."]}
    assert [place for _, place, _ in lacks(WHOLE, of=of)] == ["scents", "containers", "cautions"]


def test_only_what_a_channel_of_the_language_shows_needs_words() -> None:
    """A set that its `sets` leave out, an option that its `leave_out` names, all of it where labels do."""
    left_out = lacking({}, sets=["SET-9"]), lacking({}, leave_out=["SET-1"])
    assert left_out == ([], [])
    assert lacking({"items": {"A-1": "Romarin"}, "forms": {"bar soap": "savon"}}, leave_out=["A-2"]) == []
    labels = {"languages": ["fr"], "size": "100 x 70 mm"}
    assert lacking({"items": {"A-1": "Romarin"}}, labels, leave_out=["A-2"]) == ["items"]


def lacking(changes: dict[str, Any], labels: dict[str, Any] | None = None, **rules: Any) -> list[str]:
    """The sections that lack words where the one channel in French takes what its rules say."""
    items = [item("A-1", name="Rosemary"), item("A-2", name="Clover", form="balm")]
    of_channel = (channel(language="fr", **rules),)
    made = clean(items=items, theme="Two.", keywords=["three"], channels=of_channel)
    if labels:
        made = replace(made, settings=settings(labels=labels))
    of = replace(made, translations=(("fr", Translation.model_validate(WHOLE | changes)),))
    return [str(one.place.key[0]) for one in found("language-missing", of) if one.place.file == "languages/fr.toml"]


def test_the_full_size_that_a_mini_names_needs_its_words() -> None:
    items = [
        item("A-1", name="Rosemary"),
        item("A-2", name="Clover", form="balm", larger="A-9"),
        item("A-9", name="Big"),
    ]
    made = clean(items=items, theme="Two.", keywords=["three"], channels=(channel(language="fr"),))
    of = replace(made, translations=(("fr", Translation.model_validate(WHOLE)),))
    assert [one.message for one in found("language-missing", of)] == ['[items] has nothing in "fr" for "A-9".']


def test_codes_that_name_nothing_are_told() -> None:
    strange = {
        "items": WHOLE["items"] | {"X-9": "Rien"},
        "sets": {"SET-1": {**WHOLE["sets"]["SET-1"], "slots": {"Jar": "Pot", "Tin": "Étui"}}, "SET-9": {"name": "Non"}},
    }
    assert [(code, place) for code, place, _ in lacks(WHOLE | strange)] == [
        ("unknown-code", "items.X-9"), ("unknown-code", "sets.SET-1.slots.Tin"), ("unknown-code", "sets.SET-9"),
    ]  # fmt: skip


PAGES = ("day", "pack", "plan", "proof")


def with_templates(own: dict[str, str], language: str = "en") -> Shop:
    """A shop with our templates, and files of the owner over them."""
    ours = dict(own_templates())
    made: Shop = clean()
    settings = made.settings.model_copy(update={"language": language})
    replaced = tuple((path, ours[path]) for path in own if path in ours)
    templates = Templates(tuple(sorted((ours | own).items())), frozenset(own), replaced)
    return replace(made, settings=settings, templates=templates)


@pytest.mark.parametrize("kept", ["en-US", "en", "de", "es", "fr"])
def test_copies_of_our_words_have_no_strange_key_whichever_of_them_is_still_ours(kept: str) -> None:
    """Each language has keys of its own, and the file of a country few: where the others are hers they were all."""
    ours = {path: text for path, text in own_templates() if path.startswith("words/")}
    assert f"words/{kept}.toml" in ours
    hers = {path: text for path, text in ours.items() if path != f"words/{kept}.toml"}
    assert [one.message for one in pages_told(hers) if one.code == "unknown-key"] == []
    slip = hers | {"words/it.toml": "[headings]\ncontens = 'Inside'\n"}
    assert 'there is no key "headings.contens".' in [one.message for one in pages_told(slip)]


@pytest.mark.parametrize("folder", PAGES)
def test_a_file_for_the_owners_pages_lacks_no_key_of_ours(folder: str) -> None:
    english = dict(own_templates())[f"{folder}/en.toml"]
    assert pages_told({f"{folder}/it.toml": english}) == []
    for section, words in tomllib.loads(english).items():
        first, second, *_ = words
        above, head, of_it = english.partition(f"[{section}]")
        half = above + head + of_it.replace(f"\n{first} =", "\nx_1 =", 1).replace(f"\n{second} =", "\nx_2 =", 1)
        problem, *strange = pages_told({f"{folder}/it.toml": half})
        assert [one.message for one in strange] == [f'there is no key "{section}.x_{at}".' for at in (1, 2)]
        assert (problem.place.file, problem.place.key) == (f"templates/{folder}/it.toml", (section,))
        assert problem.message == f'[{section}] has nothing in "it" for "{first}" and "{second}".'


def pages_told(own: dict[str, str]) -> list[Problem]:
    return found("language-missing", with_templates(own))


def test_a_file_of_one_country_needs_only_what_its_base_lacks() -> None:
    english = dict(own_templates())["pack/en.toml"]
    assert pages_told({"pack/it.toml": english, "pack/it-CH.toml": ""}) == []
    assert pages_told({"pack/it-CH.toml": ""}) != []
    assert [one.code for one in pages_told({"pack/it.toml": "[note"})] == ["template-fault"]


def test_a_language_without_claims_or_pages_is_told_once_each() -> None:
    assert found("language-partly", with_templates({})) == []
    begun = {"words/it.toml": "", "cautions/it.toml": "", "plan/it.toml": ""}
    assert [str(one.place) for one in found("language-partly", with_templates(begun, "it"))] == [
        "templates/day/it.toml", "templates/claims/it.toml",
    ]  # fmt: skip
    whole = {**begun, "claims/it.toml": "", **{f"{folder}/it.toml": "" for folder in PAGES}}
    assert found("language-partly", with_templates(whole, "it")) == []
    assert found("language-partly", with_templates(begun)) == []


def words_told(language: str, *changes: tuple[str, str], folder: str = "words") -> list[tuple[str, str, str, str]]:
    """What is told of an owner's file like ours but for some changes: code, key, message, hint."""
    path = f"{folder}/{language}.toml"
    text = dict(own_templates())[path]
    for before, after in changes:
        assert before in text
        text = text.replace(before, after, 1)
    told = [one for one in found("language-missing", with_templates({path: text})) if one.place.file.endswith(path)]
    return [(one.code, ".".join(map(str, one.place.key)), one.message, one.hint) for one in told]


@pytest.mark.parametrize("language", ["en", "fr", "de", "es"])
@pytest.mark.parametrize("folder", ["words", "print", "label", "day", "pack", "plan", "proof"])
def test_no_key_of_ours_is_strange(folder: str, language: str) -> None:
    assert words_told(language, folder=folder) == []


def test_a_slip_in_a_key_is_told_with_the_near_miss() -> None:
    assert words_told("de", ('minis = "Größen"', 'mini = "Größen"')) == [
        ("unknown-key", "headings.mini", 'there is no key "headings.mini".', 'Write "minis", or take it out.')
    ]
    assert words_told("es", ("[headings]", "[heading]"))[0][2:] == (
        'there is no key "heading.contents".', "Its table is [headings].",
    )  # fmt: skip
    [(code, key, _, hint)] = words_told("fr", ("[label]", '[label]\nzzz = "x"'), folder="label")
    assert (code, key, hint) == ("unknown-key", "label.zzz", "Take it out.")


def test_a_heading_without_words_is_told_where_it_stands() -> None:
    assert words_told("de", ('minis = "Größen"', 'minis = " "')) == [
        (
            "language-missing",
            "headings.minis",
            '"headings.minis" has no words.',
            "Write between its quotes what is to stand there.",
        )
    ]


def test_tables_with_keys_of_their_own_and_lines_that_are_left_out_say_nothing() -> None:
    more = ("[forms.box]", '[forms."bath bomb"]\none = "a bath bomb"\n\n[forms.box]'), ('"group" =', '"at sunset" =')
    assert words_told("en", *more, ('shared = "Every piece listed contains {what}."', 'shared = ""')) == []


def test_our_own_words_are_read_once_however_many_files_of_words_an_owner_has(monkeypatch: pytest.MonkeyPatch) -> None:
    read = []

    def counted(text: str) -> dict[str, Any]:
        read.append(text)
        return parse_bounded(text)

    monkeypatch.setattr(languages, "parse_bounded", counted)
    own = {f"{folder}/x{at}.toml": f"strange = 'a{at}'\n" for folder in ("words", "plan") for at in range(20)}
    assert len(pages_told(own)) >= len(own)
    ours = Counter(text for text in read if text not in own.values())
    assert max(ours.values()) <= 2  # for what is strange, and for what is missing
