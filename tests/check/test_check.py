"""The whole check: its registry, its promises, and the demo shop.

Each rule's source stands in its row of check/rules.py; figures of the demo are worked out by hand.
"""

import datetime

from hypothesis import given
from hypothesis import settings as limits
from hypothesis import strategies as st

from listkit.check import check_listings
from listkit.check.places import CheckContext
from listkit.check.rules import CODES
from listkit.listing.listings import Listings
from listkit.problem import Level
from tests.check.found import TODAY, all_found
from tests.small_shop import channel, gift_set, item, photo, settings, shop, wholesale


def test_a_shop_in_order_has_no_problem() -> None:
    inside = "Sodium Olivate, Aqua"
    items = [
        item("A-1", cost="0.20", name="Rosemary & Rind", ingredients=inside, cautions="external-use;avoid-eyes"),
        item("A-2", cost="0.20", name="Clover & Cream", ingredients=inside, cautions="external-use;avoid-eyes"),
    ]
    one = gift_set([{"slot": "Bar", "choose": ["A-1", "A-2"]}], box="none")
    of = shop(items, [one], channels=(channel(),), stories={"SET-1": "{{ items }} in straw."})
    assert all_found(of) == []


def test_the_demo_shop_has_only_true_warnings(demo: Listings) -> None:
    """Six sets of six seasons on a day in winter; the jars are worked out by hand as 164 against 119."""
    found = check_listings(demo, CheckContext(TODAY))
    told = {
        "allotment-old", "crop-ground", "line-unseen", "maker-unstated", "option-unseen", "season-not-yet",
        "stock-promised-twice", "stock-shared", "wholesale-thin",
    }  # fmt: skip
    assert {one.code for one in found} == told
    assert all(one.level is Level.LOOK_AT for one in found)
    seasons = [one.message.split('"')[1] for one in found if one.code == "season-not-yet"]
    assert seasons == ["spring", "early summer", "late summer", "autumn"]
    twice = [one.message for one in found if one.code == "stock-promised-twice"]
    assert any("OH-U01 and OH-U02 (164 for 119)" in message for message in twice)
    thin = [one.place.file.split("/")[1] for one in found if one.code == "wholesale-thin" and "sets/" in one.place.file]
    assert thin == ["long-evening", "smoker-and-veil"]


WORDS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=60).filter(str.strip)
ODD = st.text(alphabet="0123456789 .,x£€%g&-{}#[]()\n lmoz", max_size=80)
TEXT = st.one_of(WORDS, ODD, st.sampled_from(["{{", "9" * 50]))


@given(name=WORDS, text=TEXT, says=WORDS, gtin=TEXT, shot=TEXT)
@limits(deadline=None, max_examples=40)
def test_check_never_raises_whatever_the_texts_are(name: str, text: str, says: str, gtin: str, shot: str) -> None:
    items = [
        item("A-1", name=name, form=text, scent=text, gtin=gtin, on_hand="3", shelf_life="2 months", larger="A-2"),
        item("A-2", name=says, form=says, scent=says, on_hand="1", cost="0.00", retail="0.00", weight="0 g"),
    ]
    slot = {"slot": name, "choose": ["A-1", {"item": "A-2", "says": says}]}
    one = gift_set([slot, {"item": "A-1"}], name=name, title=text, theme=text, keywords=[name, says], price="9.00")
    strict = {"title": 3, "description": 3, "keywords": 1, "keyword": 2, "variants": 1, "values": 1, "photos": 1}
    of = shop(
        items,
        [one],
        channels=(channel(name=name, limits={**strict, "forbidden": text}), channel(key="other")),
        stories={"SET-1": text},
        photos={"SET-1": (photo("a.jpg", shot, alt=text, shows=("A-1",)), photo("b.jpg", shot, alt=text))},
        settings=settings(prices={"bands": ["9"]}, shots={"required": [name]}),
        wholesale=wholesale(
            "SET-1", "A-2", valid_until=datetime.date(1900, 1, 1), tier=[{"from": 0, "wholesale": "0 %"}]
        ),
    )
    told = list(all_found(of, datetime.date(9999, 12, 31)))
    assert told
    for problem in told:
        assert problem.code in CODES
        assert problem.message.isprintable()
        assert "\n" not in problem.hint
