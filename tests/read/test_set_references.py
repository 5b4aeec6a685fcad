"""Names within a set: what stands for nothing is told at its line, and taken out or takes the set out."""

import tomllib
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from listkit import bounds
from listkit.model.gift_set import GiftSet
from listkit.model.photo import WHOLE, PhotoFacts
from listkit.model.shop import Photo
from listkit.read.parts import SetRead
from listkit.read.references import (
    Codes,
    Known,
    SetReferences,
    Waiting,
    item_uses,
    set_references,
    settle_sets,
    settle_variety,
)
from listkit.read.source import Source
from listkit.read.wording import TOO_MANY, perhaps, write_instead
from tests.shops import CLEAN

DAWN = tomllib.loads((CLEAN / "sets/dawn/set.toml").read_text(encoding="utf-8"), parse_float=Decimal)
KNOWN = Known(frozenset({"RR-B1", "RR-J1", "RR-J2"}), frozenset({"S", "M"}), frozenset({"spring"}), "items.csv")
FACTS = PhotoFacts(1, 1, "", "png", "colour", "sRGB", 1, 1, "#ffffff", True, WHOLE, "", WHOLE, WHOLE.top, WHOLE.top, 0)
PHOTOS = {"open-box.png": Photo("sets/dawn/photos/open-box.png", FACTS, "open box")}


def found(known: Known = KNOWN, **changes: Any) -> SetReferences:
    return set_references(GiftSet.model_validate({**DAWN, **changes}), known, PHOTOS)


def told(references: SetReferences) -> list[str]:
    return [f"{'.'.join(map(str, f.loc))}: {f.message} {f.hint}  {f.code}" for f in references.faults]


def slot(*options: Any, name: str = "Jar", **more: Any) -> dict[str, Any]:
    return {"slot": name, "choose": list(options), **more}


def test_a_sound_set_stays_as_it_is() -> None:
    references = found()
    assert (told(references), references.usable) == ([], True)
    assert references.gift_set == GiftSet.model_validate(DAWN)


LEFT_OUT: dict[str, tuple[dict[str, Any], str]] = {
    "an item": ({"contents": [{"item": "RR-B9"}], "variant": [], "photos": []},
                'contents.0.item: there is no item "RR-B9". Add it to items.csv, or mend the code.  unknown-code'),
    "an option": ({"contents": [slot("ZZZ-123")], "variant": [], "photos": []},
                  'contents.0.choose.0.item: there is no item "ZZZ-123". '
                  "Add it to items.csv, or mend the code.  unknown-code"),
    "a box": ({"box": "XL"},
              'box: there is no box "XL". Write "M", "S", "smallest", "smallest each" or "none".  unknown-code'),
    "two slots": ({"contents": [slot("RR-J1"), slot("RR-J2")], "variant": [], "photos": []},
                  'contents.1.slot: two slots are called "Jar". Give each its own name.  code-twice'),
    "two options": ({"contents": [slot("RR-J1", "RR-J1")], "variant": [], "photos": []},
                    'contents.0.choose.1: "RR-J1" stands twice among the options. Keep one of the two.  code-twice'),
    "two parts": ({"contents": [slot("RR-J1", {"item": "RR-B1", "part": "J1"})], "variant": [], "photos": []},
                  'contents.0.choose.1.part: "RR-J1" and "RR-B1" both end in J1, '
                  'so two variants would have the same code. '
                  'Give one an ending of its own: { item = "RR-B1", part = "..." }.  code-twice'),
}  # fmt: skip


@pytest.mark.parametrize("what", LEFT_OUT)
def test_what_a_set_cannot_be_without_leaves_it_out(what: str) -> None:
    changes, words = LEFT_OUT[what]
    references = found(**changes)
    assert (told(references), references.usable) == ([words], False)


TAKEN_OUT: dict[str, tuple[dict[str, Any], str]] = {
    "season": ({"season": "sprnig"}, 'season: there is no season "sprnig". Write "spring".  unknown-code'),
    "default": ({"contents": [slot("RR-J1", "RR-J2", default="RR-J3")], "photos": []},
                'contents.0.default: "RR-J3" is not one of the options. Write one of RR-J1 or RR-J2.  unknown-code'),
    "together": ({"not_together": [["RR-B1", "RR-X1"]]},
                 'not_together.0.1: "RR-X1" is not in this set. Name items of this set.  unknown-code'),
    "alone": ({"not_together": [["RR-B1"]]},
              "not_together.0: one item alone is always together. Name two or more.  bad-value"),
    "slot": ({"variant": [{"options": {"Jr": "RR-J1"}}]},
             'variant.0.options.Jr: there is no slot "Jr". Slots are Jar.  unknown-code'),
    "choice": ({"variant": [{"options": {"Jar": "RR-B1"}}]},
               'variant.0.options.Jar: "RR-B1" is not an option of "Jar". Perhaps "RR-J1" is meant.  unknown-code'),
    "unchosen": ({"variant": [{"options": {}}]},
                 'variant.0.options: it chooses nothing. Choose from Jar.  missing-key'),
    "twice": ({"variant": [{"options": {"Jar": "RR-J1"}}, {"options": {"Jar": "RR-J1"}}]},
              "variant.1.options: a [[variant]] above has the same options. Keep one of the two.  code-twice"),
    "photo": ({"variant": [{"options": {"Jar": "RR-J1"}, "photo": "opn-box.png"}]},
              'variant.0.photo: there is no photo "opn-box.png". Write "open-box.png".  file-missing'),
    "shows": ({"photos": [{"file": "open-box.png", "shows": ["RR-J1", "ZZZ-99"]}]},
              'photos.0.shows.1: "ZZZ-99" is not in this set. Name items of this set.  unknown-code'),
}  # fmt: skip


@pytest.mark.parametrize("what", TAKEN_OUT)
def test_anything_less_is_told_once_and_taken_out(what: str) -> None:
    changes, words = TAKEN_OUT[what]
    references = found(**changes)
    assert (told(references), references.usable) == ([words], True)
    again = set_references(references.gift_set, KNOWN, PHOTOS)
    assert told(again) == []


def test_what_nothing_is_known_of_is_not_told() -> None:
    nothing = Known(None, None, None)
    references = found(nothing, contents=[{"item": "ANY"}], box="ANY", season="any", variant=[], photos=[])
    assert (told(references), references.usable, references.gift_set.season) == ([], True, "any")


def test_the_smallest_box_needs_a_box() -> None:
    assert told(found(box="smallest")) == []
    assert told(found(box="none")) == []
    without = Known(KNOWN.items, frozenset(), KNOWN.seasons)
    assert told(found(without, box="smallest")) == [
        'box: there is no box at all. Add a [[box]] to packaging.toml, or write box = "none".  unknown-code'
    ]


def test_items_are_found_wherever_the_contents_name_them() -> None:
    assert list(item_uses(GiftSet.model_validate(DAWN))) == [
        (("contents", 0, "item"), "RR-B1"),
        (("contents", 1, "choose", 0, "item"), "RR-J1"),
        (("contents", 1, "choose", 1, "item"), "RR-J2"),
    ]


def test_slots_that_make_more_variants_than_a_shop_may_have_leave_the_set_out_at_once() -> None:
    """The figure is told, however large; nothing is multiplied out. The last set that has room stays."""
    items = frozenset(f"RR-B{n}" for n in range(15))
    choices = [slot(*sorted(items), name=f"Bar {n}") for n in range(6)]
    of_sets = [
        SetRead(f"s{n}", Source(f"s{n}/set.toml", ""), f"S{n}", bare(f"S{n}", choices[:slots]), (), ())
        for n, slots in enumerate((6, 4, 4, 3))
    ]
    settled = settle_sets(of_sets, replace(KNOWN, items=items), Waiting({}, {}, items, frozenset()), Codes())
    assert [folder.gift_set.code for folder in settled.sets] == ["S1", "S3"]
    assert [f"{problem.message} {problem.hint}" for problem in settled.problems] == [
        "6 slots of 15 x 15 x 15 x 15 x 15 x 15 options make 11,390,625 variants, too many. "
        "A shop may have 60,000 in all: take options or slots out.",
        "4 slots of 15 x 15 x 15 x 15 options make 50,625 variants, too many beside the 50,625 of other sets. "
        "A shop may have 60,000 in all: take options or slots out.",
    ]
    endless = [slot("RR-B1", "RR-B2", name=f"Bar {n}") for n in range(500)]
    references = SetReferences(bare("S9", endless))
    assert settle_variety(references, 0) == 0
    assert "500 slots of 2 x 2 x 2 x 2 x 2 x 2 x 2 x 2 x ... options" in references.faults[0].message
    assert "make more than a thousand billion variants" in references.faults[0].message


def bare(code: str, contents: list[dict[str, Any]]) -> GiftSet:
    return GiftSet.model_validate({"code": code, "name": code, "box": "S", "contents": contents})


def test_a_code_that_is_meant_and_has_a_fault_of_its_own_is_named_with_that() -> None:
    """Who follows the advice would only come to the next fault."""
    hints = {at: perhaps("RR-B2x", ["RR-B2"], broken=("RR-B2",) * at) for at in (0, 1)}
    assert hints == {
        0: 'Perhaps "RR-B2" is meant.',
        1: 'Perhaps "RR-B2" is meant, which has a fault of its own to mend.',
    }


def test_among_more_words_than_any_shop_has_it_is_said_that_none_is_looked_for() -> None:
    names = [f"name {at}" for at in range(bounds.NEAR_ALIKE + 1)]
    assert write_instead("nmae 7", names) == TOO_MANY
    assert write_instead("name 7x", names[:-1]) == 'Write "name 7".'
