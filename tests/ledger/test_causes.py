"""Why rows changed: each change in one cause, named by what moved in the owner's files."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.fields import FIELDS
from listkit.ledger.causes import FOLLOWS, GROUPS, Cause, causes, first_record
from listkit.ledger.changes import Rows, changes
from listkit.ledger.movements import Movement, movements
from listkit.ledger.store import Facts
from tests.ledger.rows import row
from tests.steps import calls

CONTENTS = {"OHS-1": ("OH-B01", "OH-U01", "OH-U02"), "OHS-2": ("OH-B01", "OH-L01"), "OHS-3": ("OH-L01",)}


def variant(code: str, *items: str, **facts: Any) -> dict[str, Any]:
    """A row of the set in its code, with these items."""
    group = code.rpartition("-")[0]
    return row(code, **{"inProductGroupWithID": group, "itemCodes": list(items), "lowestPrice": "20.00", **facts})


OLD: Rows = {
    one["sku"]: one
    for one in (
        variant("OHS-1-U01", "OH-B01", "OH-U01"),
        variant("OHS-1-U02", "OH-B01", "OH-U02"),
        variant("OHS-2-L01", "OH-B01", "OH-L01", box="M"),
        variant("OHS-3-L01", "OH-L01", box="", season="winter"),
    )
}


def moved_facts(section: str, **moved: tuple[dict[str, Any] | None, dict[str, Any] | None]) -> tuple[Facts, Facts]:
    """The differing lines of one section before and after; "OH_B01" is OH-B01, "box__S" is "box S"."""
    old: dict[str, str] = {}
    new: dict[str, str] = {}
    for name, (before, after) in moved.items():
        code = name.replace("__", " ").replace("_", "-")
        old |= {code: json.dumps(before)} if before is not None else {}
        new |= {code: json.dumps(after)} if after is not None else {}
    return Facts(**{section: old}), Facts(**{section: new})


def told(new: Rows, facts: tuple[Facts, Facts], old: Rows = OLD) -> tuple[Cause, ...]:
    return causes(changes(old, new), old, new, movements(*facts), CONTENTS)


def changed(**facts: dict[str, Any]) -> dict[str, Any]:
    """The old rows with these facts changed; "OHS_1_U01" is OHS-1-U01."""
    new = {code: dict(one) for code, one in OLD.items()}
    for name, those in facts.items():
        new[name.replace("_", "-")] |= those
    return new


def test_an_item_price_names_the_sets_and_variants_that_it_moves() -> None:
    new = changed(OHS_1_U01={"price": "29.50"}, OHS_1_U02={"price": "29.50"}, OHS_2_L01={"price": "29.50"})
    [cause] = told(new, moved_facts("items", OH_B01=({"retail": "7.50"}, {"retail": "8.00"})))
    assert (cause.kind, cause.words) == ("item price", "OH-B01 7.50 → 8.00 moves 2 sets, 3 variants")
    assert cause.codes == ("OHS-1-U01", "OHS-1-U02", "OHS-2-L01")


def test_a_variant_without_the_item_is_not_said_to_move_though_its_sets_lowest_price_does() -> None:
    new = changed(OHS_1_U01={"price": "29.50", "lowestPrice": "20.50"}, OHS_1_U02={"lowestPrice": "20.50"})
    [cause] = told(new, moved_facts("items", OH_U01=({"retail": "16.00"}, {"retail": "16.50"})))
    assert cause.words == "OH-U01 16.00 → 16.50 moves 1 set, 1 variant"
    assert len(cause.changes) == 3


def test_two_prices_that_bear_on_one_variant_are_its_cause_together() -> None:
    new = changed(OHS_1_U01={"price": "29.50"}, OHS_2_L01={"price": "30.00"}, OHS_3_L01={"price": "29.50"})
    facts = moved_facts(
        "items", OH_B01=({"retail": "7.50"}, {"retail": "8.00"}), OH_L01=({"retail": "4.50"}, {"retail": "5.00"})
    )
    found = {cause.codes: cause.words.partition(" move")[0] for cause in told(new, facts)}
    assert found == {
        ("OHS-1-U01",): "OH-B01 7.50 → 8.00",
        ("OHS-2-L01",): "OH-B01 7.50 → 8.00 and OH-L01 4.50 → 5.00",
        ("OHS-3-L01",): "OH-L01 4.50 → 5.00",
    }


def test_many_movements_of_one_kind_are_told_as_one() -> None:
    codes = [f"OH-{number:02d}" for number in range(20)]
    old = {f"S-{code}": variant(f"S-{code}", code) for code in codes}
    new = {code: {**one, "price": "31.00"} for code, one in old.items()}
    moved = {code.replace("-", "_"): ({"retail": "7.50"}, {"retail": "8.00"}) for code in codes}
    [cause] = told(new, moved_facts("items", **moved), old)
    assert cause.words == "the retail of 20 items (1 set, 20 variants)"


def test_where_all_items_moved_causes_take_twice_as_long_for_twice_as_many() -> None:
    """A thousand items in ten thousand variants took 8 s when each row was held against all that moved."""

    def steps(size: int) -> int:
        codes = [f"OH-{number}" for number in range(size)]
        old = {f"S-{code}": variant(f"S-{code}", code) for code in codes}
        new = {code: {**one, "price": "31.00"} for code, one in old.items()}
        moved = {code.replace("-", "_"): ({"retail": "7.50"}, {"retail": "8.00"}) for code in codes}
        facts = moved_facts("items", **moved)
        return calls(lambda: told(new, facts, old))

    assert steps(400) < 2.5 * steps(200)


def test_contents_of_thousands_of_lines_are_compared_in_one_walk() -> None:
    old, new = ([f"{sign}-{number}" for number in range(60_000)] for sign in "AB")
    movement = Movement("sets", "S", "contents", "\n".join(old), "\n".join(new))
    assert movement.exchanged == (tuple(new), tuple(old))


@pytest.mark.parametrize(
    ("section", "name", "before", "after", "facts", "kind"),
    [
        ("items", "OH_B01", {"weight": "119 g"}, {"weight": "125 g"}, {"weight": 513}, "item weight"),
        ("items", "OH_B01", {"cost": "1.85"}, {"cost": "2.00"}, {"fullCost": "9.43", "kept": "18.00"}, "item cost"),
        ("items", "OH_B01", {"on_hand": "9"}, {"on_hand": "4"}, {"inventoryLevel": 2, "canMake": 4}, "stock"),
        ("items", "OH_B01", {"name": "Rosemary"}, {"name": "Sage"}, {"description": "Sage."}, "item text"),
        ("items", "OH_B01", {"size": "1"}, {"size": "2"}, {"fillShare": 0.4}, "item text"),
        ("sets", "OHS_1", {"uplift": "1.00"}, {"uplift": "1.50"}, {"price": "29.50"}, "uplift"),
        ("sets", "OHS_1", {"ending": "keep"}, {"ending": ".95"}, {"price": "29.95"}, "price rule"),
        ("sets", "OHS_1", {"story": "1f"}, {"story": "2e"}, {"description": "Anew."}, "text"),
        ("sets", "OHS_1", {"photos": ["a.jpg | 1"]}, {"photos": ["b.jpg | 2"]}, {"image": ["b.jpg"]}, "photo"),
        ("sets", "OHS_1", {"season": "spring"}, {"season": "summer"}, {"availabilityEnds": "2027-07-11"}, "season"),
        ("rules", "prices", {"uplift": "1.00"}, {"uplift": "1.50"}, {"price": "29.50"}, "uplift"),
        ("rules", "prices", {"wage": "18.00"}, {"wage": "19.00"}, {"fullCost": "9.35"}, "price rule"),
        ("rules", "box__S", {"weight": "58 g"}, {"weight": "60 g"}, {"weight": 509}, "packaging"),
        ("rules", "season__spring", {"off_sale": "10"}, {"off_sale": "12"}, {"priceValidUntil": "12"}, "season"),
        ("rules", "stock", {"hold_back": "2"}, {"hold_back": "3"}, {"inventoryLevel": 6}, "stock rule"),
        ("rules", "channel", {"fee": "2.3 %"}, {"fee": "3.7 %"}, {"kept": "18.00"}, "channel"),
        ("rules", "freight", {"divisor": "5000"}, {"divisor": "6000"}, {"volumetricWeight": 475}, "freight"),
        ("rules", "wording", {"listing.html": "1"}, {"listing.html": "2"}, {"description": "Anew."}, "text"),
    ],
)  # fmt: skip
def test_a_change_is_put_down_to_what_it_follows_from(
    section: str, name: str, before: dict[str, Any], after: dict[str, Any], facts: dict[str, Any], kind: str
) -> None:
    [cause] = told(changed(OHS_1_U01=facts), moved_facts(section, **{name: (before, after)}))
    assert (cause.kind, cause.codes) == (kind, ("OHS-1-U01",))
    assert cause.moved


@pytest.mark.parametrize(
    ("section", "name", "facts"),
    [
        ("items", "OH_L01", {"price": "29.50"}),  # it does not lie in this set
        ("items", "OH_B01", {"weight": 513}),  # its retail price moved
        ("sets", "OHS_2", {"price": "29.50"}),
        ("rules", "box__M", {"weight": 509}),
        ("rules", "season__winter", {"availabilityEnds": "2027-05-12"}),
    ],
)
def test_what_cannot_be_the_cause_is_not_named(section: str, name: str, facts: dict[str, Any]) -> None:
    before, after = {"retail": "7.50", "uplift": "1"}, {"retail": "8.00", "uplift": "2"}
    [cause] = told(changed(OHS_1_U01=facts), moved_facts(section, **{name: (before, after)}))
    assert cause.moved == ()
    assert cause.words.endswith("nothing on record explains it")


def test_a_text_that_differs_only_in_figures_follows_what_moved_them() -> None:
    old = changed(OHS_1_U01={"description": "From £27.00 to £29.00, until 10 May."})
    new = changed(OHS_1_U01={"description": "From £27.50 to £29.50, until 10 May.", "price": "29.50"})
    facts = moved_facts("items", OH_B01=({"retail": "7.50", "name": "a"}, {"retail": "8.00", "name": "b"}))
    [cause] = told(new, facts, old)
    assert cause.kind == "item price"
    new["OHS-1-U01"]["description"] = "Now from £27.50 to £29.50, until 10 May."
    kinds = {change.field: cause.kind for cause in told(new, facts, old) for change in cause.changes}
    assert kinds == {"price": "item price", "description": "item text"}


def test_an_option_that_is_added_brings_its_variants_and_the_new_text() -> None:
    new = changed(OHS_1_U01={"description": "Choose of three."}, OHS_1_U02={"description": "Choose of three."})
    new["OHS-1-U03"] = variant("OHS-1-U03", "OH-B01", "OH-U03")
    contents = (["OH-B01", "Jar: OH-U01"], ["OH-B01", "Jar: OH-U01", "Jar: OH-U03"])
    [cause] = told(new, moved_facts("sets", OHS_1=({"contents": contents[0]}, {"contents": contents[1]})))
    assert (cause.kind, cause.new) == ("option added", ("OHS-1-U03",))
    assert cause.words == "OHS-1: Jar: OH-U03 added (1 set, 3 variants)"
    turned = moved_facts("sets", OHS_1=({"contents": contents[1]}, {"contents": contents[0]}))
    [back] = told(OLD, turned, new)
    assert (back.kind, back.gone) == ("option removed", ("OHS-1-U03",))


def test_a_new_set_and_one_that_is_gone_are_told_as_such() -> None:
    new = {code: one for code, one in OLD.items() if not code.startswith("OHS-3")}
    new["OHS-9-A"] = variant("OHS-9-A", "OH-B01")
    facts = moved_facts("sets", OHS_3=({"name": "Winter"}, None), OHS_9=(None, {"name": "Night"}))
    found = {cause.kind: (cause.new, cause.gone) for cause in told(new, facts)}
    assert found == {"new set": (("OHS-9-A",), ()), "set gone": ((), ("OHS-3-L01",))}


def test_the_first_record_has_one_cause() -> None:
    [cause] = first_record(changes({}, OLD), OLD)
    assert cause.words == "nothing was recorded before: 3 sets, 4 variants"
    assert first_record(changes({}, {}), {}) == ()


def test_every_group_of_facts_is_one_of_the_table_and_every_field_of_it_is_a_field() -> None:
    assert set(GROUPS.values()) <= set(FOLLOWS)
    assert set(GROUPS) - set(FIELDS) == {"tierPrices", "displayPrice"}  # of lines for shops alone, which no feed has


some = st.sampled_from(["OH-B01", "OH-U01", "OH-U02", "OH-L01"])
state = st.dictionaries(
    st.sampled_from(["OHS-1-A", "OHS-1-B", "OHS-2-A", "OHS-3-A"]),
    st.fixed_dictionaries(
        {"itemCodes": st.lists(some, max_size=3), "box": st.sampled_from(["S", "M", ""])},
        optional={
            name: st.sampled_from(["1.00", "2.00"])
            for name in ("price", "fullCost", "weight", "description", "availability", "image", "season", "other")
        },
    ),
)
sheet = st.dictionaries(
    some, st.dictionaries(st.sampled_from(["retail", "cost", "name", "weight"]), st.sampled_from(["1", "2"]))
)
sets = st.dictionaries(st.sampled_from(["OHS-1", "OHS-2"]), st.dictionaries(st.sampled_from(["uplift", "story"]), some))


@given(state, state, st.tuples(sheet, sheet), st.tuples(sets, sets))
def test_every_change_has_exactly_one_cause(
    old: dict[str, Any], new: dict[str, Any], items: tuple[Any, Any], of_sets: tuple[Any, Any]
) -> None:
    for rows in (old, new):
        for code, one in rows.items():
            one["inProductGroupWithID"] = code[:5]
    before, after = (
        Facts(
            items={code: json.dumps(one) for code, one in items[at].items()},
            sets={code: json.dumps(one) for code, one in of_sets[at].items()},
        )
        for at in (0, 1)
    )
    found = changes(old, new)
    why = causes(found, old, new, movements(before, after), CONTENTS)
    assert sorted(repr(one) for cause in why for one in cause.changes) == sorted(map(repr, found.changed))
    assert sorted(code for cause in why for code in cause.new) == sorted(found.new)
    assert sorted(code for cause in why for code in cause.gone) == sorted(found.gone)
    assert len({(cause.words, cause.moved) for cause in why}) == len(why)


def test_a_day_that_begins_a_season_is_one_cause_for_all_its_sets() -> None:
    new = changed(
        OHS_1_U01={"availability": "OutOfStock", "inventoryLevel": 0},
        OHS_2_L01={"availability": "OutOfStock", "inventoryLevel": 0},
    )
    waits = {"selling": "spring: not yet"}
    facts = moved_facts("rules", day__OHS_1=(waits, None), day__OHS_2=(waits, None))
    [cause] = told(OLD, facts, old=new)
    assert (cause.kind, cause.words) == ("season", "spring begins (2 sets, 2 variants)")
    [cause] = told(new, facts[::-1])
    assert cause.words == "spring has not begun (2 sets, 2 variants)"
    ended = moved_facts("rules", day__OHS_1=(None, {"selling": "spring: over"}))
    [cause] = told({code: row for code, row in OLD.items() if not code.startswith("OHS-1")}, ended)
    assert (cause.words, cause.gone) == ("spring ends (1 set, 2 variants)", ("OHS-1-U01", "OHS-1-U02"))


def test_the_stock_of_many_items_says_how_many_pieces_were_sold_of_all() -> None:
    items = {f"I{at}": ({"on_hand": "9"}, {"on_hand": "5", "moved": ["sold 4"]}) for at in range(10)}
    new = changed(OHS_3_L01={"inventoryLevel": 5})
    contents = {"OHS-3": tuple(items)}
    before, after = moved_facts("items", **items)
    [cause] = causes(changes(OLD, new), OLD, new, movements(before, after), contents)
    assert cause.words == "the on hand of 10 items (40 pieces sold) (1 set, 1 variant)"
