"""Alternative texts: bounded, unlike each other, written from what lies in the set."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from listkit.listing.titles import LEAST, MOST, WHOLE_SET, Around, Frame, alt_text, alt_texts, fold
from tests.listing.shops import BALM, BAR, JAR, item
from tests.listing.test_words import english

AROUND = Around("Low Tide", "spring", "Hob & Hedge")
SHOTS = (
    "open box", "from above", "contents", "closed", "in hand", "detail", "label", "card", "styled", "group", "other",
)  # fmt: skip
ALL = (item(**BAR), item(**BALM), item(**JAR))

names = st.text(st.characters(categories=("Lu", "Ll", "Zs"), codec="utf-8"), min_size=1, max_size=60).filter(str.strip)
items = st.builds(
    lambda name, form, container: item(name=name, form=form, container=container),
    names,
    st.sampled_from(["", "bar soap", "bath salts", "a form of so many words that no title takes all of them"]),
    st.sampled_from(["", "glass jar", "paper band"]),
)
frames = st.builds(
    Frame,
    st.sampled_from((*SHOTS, "season", "a shot of her own")),
    st.lists(items, max_size=8).map(tuple),
    st.lists(names, max_size=2).map(tuple),
    st.just(""),
)


def test_the_shot_and_what_is_seen_are_told() -> None:
    told = alt_text(english(), Frame("open box", ALL), AROUND)
    assert told == "Open box with Gorse & Salt bar soap, Quince & Wax lip balm and Meadow body butter"
    assert LEAST <= len(told) <= MOST


def test_a_slot_whose_choice_is_not_known_is_told_by_its_name() -> None:
    told = alt_text(english(), Frame("group", ALL[:2], ("Jar",)), AROUND)
    assert told == "Side by side: Gorse & Salt bar soap, Quince & Wax lip balm and a jar"


def test_a_short_text_grows_by_container_set_and_shop_until_it_says_enough() -> None:
    assert alt_text(english(), Frame("detail", ALL[2:]), AROUND) == (
        "Close-up of Meadow body butter in a glass jar, from Low Tide"
    )
    assert alt_text(english(), Frame("card"), AROUND) == (
        "Message card in its place in Low Tide, packed by Hob & Hedge"
    )


def test_no_word_of_what_it_is_is_said_again_of_what_it_comes_in() -> None:
    mini = item(name="Meadow", form="mini butter", container="mini jar")
    assert "Meadow mini butter in a jar" in alt_text(english(), Frame("detail", (mini,)), AROUND)
    bar = item(name="Oat", form="bar soap", container="bar")
    assert " in a " not in alt_text(english(), Frame("detail", (bar,)), AROUND)


def test_a_letter_that_folds_to_two_before_a_name_does_not_move_its_place() -> None:
    """ß folds to ss (Unicode, CaseFolding.txt)."""
    wording = replace(english(), shots=(("other", "Große Nahaufnahme von {what}"),))
    frame = Frame("detail", (item(name="Meadow", form="body butter", container="glass jar"),))
    assert alt_text(wording, frame, AROUND).startswith("Große Nahaufnahme von Meadow body butter in a glass jar")


def test_a_long_text_leaves_forms_out_first() -> None:
    many = tuple(item(name=f"Gorse & Salt number {n}") for n in ("one", "two", "three", "four"))
    told = alt_text(english(), Frame("open box", many), AROUND)
    assert told == (
        "Open box with Gorse & Salt number one, Gorse & Salt number two, Gorse & Salt number three and "
        "Gorse & Salt number four"
    )
    longer = tuple(item(name=f"Gorse & Salt from the cliff number {n}") for n in ("one", "two", "three", "four"))
    assert alt_text(english(), Frame("open box", longer), AROUND).startswith("Open box with four bars of soap")


def test_what_the_owner_states_is_taken_as_it_is() -> None:
    stated = "Our bar on the window sill"
    assert alt_texts(english(), (Frame("detail", ALL[:1], stated=stated), Frame("detail", ALL[:1])), AROUND) == (
        stated,
        "Close-up of Gorse & Salt bar soap in a paper band, from Low Tide",
    )


def test_alike_photos_are_told_apart_by_their_number() -> None:
    same = Frame("detail", ALL[2:])
    first, second, third = alt_texts(english(), (same, same, same), AROUND)
    assert second == f"{first}, view 2"
    assert third == f"{first}, view 3"


def test_every_shot_has_words_of_its_own_that_never_say_image_of() -> None:
    words = english()
    assert {shot for shot, _ in words.shots} == {*SHOTS, "season"}
    assert set(WHOLE_SET) < set(SHOTS)
    told = [alt_text(words, Frame(shot, ALL), AROUND) for shot in SHOTS]
    assert len(set(told)) == len(SHOTS)
    assert not [one for one in told if "image of" in one.lower() or "photo of" in one.lower() or "picture of" in one]


@given(st.lists(frames, max_size=6).map(tuple), names, names)
def test_texts_keep_their_bound_and_are_never_alike(of: tuple[Frame, ...], set_name: str, shop: str) -> None:
    told = alt_texts(english(), of, Around(set_name, "spring", shop))
    assert max(map(len, told), default=0) <= MOST
    assert len({fold(one) for one in told}) == len(told)
    assert all(one.strip() for one in told)


usual = st.sampled_from(["Rosemary & Rind", "Mint & Wax", "Hive Hand", "Ash-wood", "Oat Milk", "Plain Beeswax"])


@given(st.sampled_from(SHOTS), st.lists(st.builds(lambda name: item(name=name), usual), min_size=1, max_size=3))
def test_names_of_a_usual_length_give_at_least_what_is_asked(shot: str, of: list[object]) -> None:
    around = Around("Smoker & Veil", "autumn", "Ottermarl Hive & Herb")
    assert LEAST <= len(alt_text(english(), Frame(shot, tuple(of)), around)) <= MOST  # type: ignore[arg-type]
