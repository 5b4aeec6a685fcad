"""What check says of boxes when not every way can be tried, and of which variants it asks at all.

Our own bounds: common practice, no source.
"""

from dataclasses import replace
from typing import Any

from listkit.check.boxes import boxes
from listkit.check.places import CheckContext
from listkit.compute.box.searches import Searches
from listkit.compute.build import build_catalog
from listkit.listing.listings import Listings
from listkit.model.shop import Shop
from tests.check.found import TODAY
from tests.small_shop import BOX_S, channel, gift_set, item, listings, shop


def asked(of: Shop, searches: Searches) -> list[str]:
    """Lines of the box checks, with these searches."""
    made = listings(of)
    catalog = replace(made.catalog, searches=searches)
    return [str(problem) for problem in boxes(Listings(catalog, tuple(made)), CheckContext(TODAY))]


def many(slots: int, options: int, **box: Any) -> Shop:
    """Bars of one size but of many weights, so many slots with so many options."""
    items = [item(f"B{n}", weight=f"{100 + n} g") for n in range(options)]
    contents = [{"slot": f"Bar {n}", "choose": [each.code for each in items]} for n in range(slots)]
    says = {"packaging": {"box": [{**BOX_S, **box}]}, "channels": (channel(),)}
    return shop(items, [gift_set(contents, **({"box": "smallest"} if not box else {}))], **says)


def test_variants_with_the_same_sides_are_one_question() -> None:
    """A thousand variants of one size ask what one variant asks."""
    spent = []
    for options in (1, 10):
        of = many(3, options)
        searches = Searches()
        build_catalog(of, searches)
        spent.append(searches.total - searches.left)
    assert spent[0] == spent[1] > 0


def test_what_is_not_decided_is_looked_at_and_says_what_was_tried() -> None:
    of = many(2, 2, inside="162 x 122 x 70 mm")
    assert asked(of, Searches(left=0)) == [
        "Look at · sets/set-1/set.toml: whether First Set fits in box S is not decided: not tried, for other boxes had "
        "used up what may be tried. Try it by hand, or ask for this set alone: listkit show SET-1."
    ]
    assert not [line for line in asked(of, Searches()) if "not decided" in line]


def test_no_box_is_said_to_hold_a_set_while_the_question_is_open() -> None:
    of = many(2, 2)
    starved = Searches(left=0)
    made = build_catalog(of, starved)
    assert made.sets[0].box is not None, "a set of its own is allowed some looks"
    boxless = tuple(replace(variant, box=None) for variant in made.sets[0].variants)
    bare = replace(made, sets=(replace(made.sets[0], box=None, variants=boxless),), searches=Searches(left=0))
    lines = [str(problem) for problem in boxes(Listings(bare, ()), CheckContext(TODAY))]
    assert lines == [
        "Must fix · sets/set-1/set.toml: no box is known to hold all of First Set: not every way could be tried. "
        'Write the code of a box instead of "smallest", or try it by hand.'
    ]
