"""Checks of limits: by how much over, and the smallest change."""

from typing import Any

from listkit.check import check_listings
from listkit.check.places import CheckContext
from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.model.channel import Channel
from listkit.model.shop import SetFolder, Shop
from tests.check.found import TODAY, found, told
from tests.listing.shops import channel as listing_channel
from tests.listing.shops import folder
from tests.listing.shops import shop as listing_shop
from tests.small_shop import channel, gift_set, item, photo, shop

BAR = {"item": "A-1"}


def limited(name: str = "Stall", **limits: Any) -> Channel:
    return channel(key=name.lower(), name=name, limits=limits, make=["feed", "photos"])


def one_set(*channels: Channel, of: int = 2, **says: Any) -> Shop:
    extra = {key: {"SET-1": says.pop(key)} for key in ("stories", "photos") if key in says}
    items = [item(f"A-{n}") for n in range(1, of + 1)]
    return shop(items, [gift_set(says.pop("contents", [BAR]), **says)], channels=channels, **extra)


def test_a_title_is_told_once_for_all_channels_with_what_fits() -> None:
    of = one_set(limited(title=10), limited("Fair", title=14), limited("Shop", title=15), name="The Hurdle Bar")
    assert told("title-long", of) == [
        "Must fix · sets/set-1/set.toml: the title has 14 characters, 4 over what Stall takes (10). "
        'Up to "The Hurdle" it fits.'
    ]
    assert found("title-long", of)[0].place.key == ("name",)
    both = one_set(limited(title=10), limited("Fair", title=5), title="The Hurdle Bar")
    (line,) = told("title-long", both)
    assert '9 over what Fair takes (5) and 4 over what Stall takes (10). Up to "The" it fits.' in line
    assert found("title-long", both)[0].place.key == ("title",)


def test_a_text_is_told_at_its_story_with_about_how_many_words_to_lose() -> None:
    of = one_set(limited(description=20), stories="A morning in the herb garden.")
    assert told("description-long", of) == [
        "Must fix · sets/set-1/story.md: the text has 29 characters, 9 over what Stall takes (20). "
        "Take out 9 characters, about 2 words."
    ]


def test_too_many_keywords_and_too_long_ones() -> None:
    of = one_set(limited(keywords=2, keyword=9), keywords=["bath", "spring gift", "soap", "herbs"])
    assert told("keywords-many", of) == [
        "Must fix · sets/set-1/set.toml: there are 4 keywords, 2 over what Stall takes (2). "
        'Take out 2; the last are "soap" and "herbs".'
    ]
    (problem,) = found("keyword-long", of)
    assert problem.place.key == ("keywords", 1)
    assert problem.message == 'the keyword "spring gift" has 11 characters, 2 over what Stall takes (9).'
    assert problem.hint == '"spring" fits.'


def test_of_too_many_variants_the_slot_is_named_from_which_fewest_must_go() -> None:
    """4 x 3 = 12; 8 at most: one jar less leaves 4 x 2 = 8, two bars less 2 x 3 = 6."""
    slots = [{"slot": "Bar", "choose": ["A-1", "A-2", "A-3", "A-4"]}, {"slot": "Jar", "choose": ["A-5", "A-6", "A-7"]}]
    of = one_set(limited(variants=8), of=7, contents=slots)
    assert told("variants-many", of) == [
        "Must fix · sets/set-1/set.toml: there are 12 variants, 4 over what Stall takes (8). "
        'Take 1 of the options of "Jar" out, which leaves 8 variants.'
    ]
    assert "Take a slot out" in told("variants-many", one_set(limited(variants=1), of=7, contents=slots))[0]


def test_too_many_options_are_told_at_their_slot() -> None:
    slot = {"slot": "Bar", "choose": ["A-1", "A-2", "A-3"]}
    (problem,) = found("values-many", one_set(limited(values=2), of=3, contents=[BAR, slot]))
    assert problem.place.key == ("contents", 1, "choose")
    assert (problem.message, problem.hint) == ('"Bar" has 3 options, 1 over what Stall takes (2).', "Take 1 out.")


def test_photos_that_are_left_out_are_named() -> None:
    photos = (photo("one.jpg"), photo("two.jpg"), photo("three.jpg"))
    assert told("photos-many", one_set(limited(photos=1), limited("Fair", photos=3), photos=photos)) == [
        "Look at · sets/set-1/set.toml: Stall takes 1 and leaves out two.jpg and three.jpg. "
        "Put those that matter first under [[photos]]."
    ]


def test_a_forbidden_character_is_told_where_it_was_typed_with_what_to_write() -> None:
    of = one_set(limited(forbidden="&*\n"), limited("Fair", forbidden="&"), name="Smoker & Veil")
    assert told("character-forbidden", of) == [
        'Must fix · sets/set-1/set.toml: "&" (U+0026) stands in the title "Smoker & Veil", and Stall and Fair '
        'forbid it. Write "and" instead, or replace = { "&" = "and" } in channels/stall.toml.'
    ]
    ours = one_set(limited(forbidden="x"), title="A box")
    assert found("character-forbidden", ours)[0].place.key == ("title",)
    in_story = one_set(limited(forbidden="*"), stories="Plain.\nWith *weight*.")
    (problem,) = found("character-forbidden", in_story)
    assert (problem.place.file, problem.place.line, problem.hint) == ("sets/set-1/story.md", 2, "Take it out.")


def listed_signs(*sets: SetFolder, **says: Any) -> list[str]:
    """What is said of forbidden characters of sets with all the words that listkit writes around them."""
    made = listing_shop(*sets, channels=[listing_channel("fair", name="Fair", **says)])
    found = check_listings(build_listings(build_catalog(made)), CheckContext(TODAY))
    return [str(problem) for problem in found if problem.code == "character-forbidden"]


def test_a_forbidden_sign_of_our_making_is_told_once_a_channel_with_the_line_to_write() -> None:
    two = folder(), folder(at="bar", code="HHS-2", name="Bar")
    assert listed_signs(*two, limits={"forbidden": "×"}) == [
        'Must fix · channels/fair.toml: "×" (U+00D7) stands in texts where listkit writes it, and Fair forbids it. '
        'Write replace = { "×" = "x" }.'
    ]
    assert listed_signs(*two, limits={"forbidden": "×"}, replace={"×": "x"}) == []


def test_a_forbidden_sign_that_the_channel_itself_writes_is_told_there() -> None:
    assert listed_signs(folder(name="Tide & Time"), limits={"forbidden": "+"}, replace={"&": "+"}) == [
        'Must fix · channels/fair.toml: "+" (U+002B) stands in texts where replace writes it, and Fair forbids it. '
        "Write another sign there."
    ]


def test_a_forbidden_sign_that_is_replaced_already_is_no_advice() -> None:
    (line,) = listed_signs(folder(name="Tide AB-1+2"), limits={"forbidden": "-"}, replace={"-": " "}, text="plain")
    assert line.endswith("Take it out: replace leaves codes, addresses and figures as they are.")


def test_without_limits_nothing_is_too_long() -> None:
    of = one_set(channel(), name="x" * 5000, keywords=["y" * 500] * 3)
    codes = ("title-long", "description-long", "keywords-many", "keyword-long", "variants-many", "values-many")
    assert [line for code in codes for line in told(code, of)] == []


def test_lengths_are_counted_as_each_channel_counts() -> None:
    """Each of the two é has two bytes in UTF-8 (RFC 3629) and one unit in UTF-16 (RFC 2781)."""
    octets, units = limited(title=9, count="bytes"), limited("Fair", title=9, count="utf-16 units")
    (line,) = told("title-long", one_set(octets, units, title="Thé d'été"))
    assert line == (
        'Must fix · sets/set-1/set.toml: the title has 12 bytes, 3 over what Stall takes (9). Up to "Thé" it fits.'
    )
    both = told("title-long", one_set(octets, limited("Fair", title=8), title="Thé d'été"))
    assert "has 12 bytes, 3 bytes over what Stall takes (9) and 1 character over what Fair takes (8)." in both[0]
