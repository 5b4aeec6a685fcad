"""What a new set could hold, proposed from a small shop."""

from hypothesis import given
from hypothesis import strategies as st

from listkit.edit.new_set import Proposal, loosely_fits, propose
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from tests.small_shop import gift_set, item, settings, shop

JAR = {"form": "body butter", "size": "72 x 72 x 62 mm", "shape": "cylinder", "upright": "yes", "retail": "14.00"}
BALM = {"form": "lip balm", "size": "18 x 18 x 70 mm", "retail": "4.00"}
GOODS = [
    item("B-1", scent="oat", on_hand="10"),
    item("B-2", scent="rose", on_hand="40"),
    item("L-1", **BALM),
    item("J-1", **JAR, scent="oat", container="jar", on_hand="20"),
    item("J-2", **JAR, scent="mint", container="mini jar", on_hand="12"),
]


def proposed(items: list[Item], *sets: GiftSet, about: str = "", **says: object) -> Proposal:
    found = propose(shop(items, list(sets), **says), about=about)
    assert found is not None
    return found


def codes(proposal: Proposal) -> tuple[list[str], list[str]]:
    return [one.code for one in proposal.fixed], [one.code for one in proposal.options]


def test_a_bar_a_small_thing_and_a_jar_to_choose() -> None:
    proposal = proposed(GOODS)
    assert codes(proposal) == (["B-1", "L-1"], ["J-1", "J-2"])
    assert (proposal.slot, proposal.box) == ("Jar", "S")


def test_the_bar_smells_like_a_jar_where_one_does_else_the_one_most_on_hand_is_taken() -> None:
    assert codes(proposed(GOODS))[0][0] == "B-1"
    plain = [one.model_copy(update={"scent": ""}) for one in GOODS]
    assert codes(proposed(plain))[0][0] == "B-2"


def test_what_is_closed_or_not_on_hand_beyond_what_is_held_back_is_not_proposed() -> None:
    gone = [item("J-3", **JAR, on_hand="2"), item("J-4", **JAR, status="closed"), item("J-5", **JAR, on_hand="0")]
    assert codes(proposed([*GOODS, *gone], settings=settings(stock={"hold_back": 2})))[1] == ["J-1", "J-2"]


def test_options_share_a_footprint_and_a_form() -> None:
    goods = [*GOODS, item("J-9", **{**JAR, "form": "sugar scrub"}), item("J-8", **{**JAR, "size": "90 x 90 x 70 mm"})]
    options = proposed(goods).options
    assert [one.code for one in options] == ["J-1", "J-2"]
    assert len({(one.size, one.shape) for one in options}) == 1


def test_a_shop_of_bars_alone_gives_bars() -> None:
    bars = [item(f"B-{at}") for at in range(6)]
    assert codes(proposed(bars)) == (["B-4", "B-5"], ["B-0", "B-1", "B-2", "B-3"])
    assert proposed(bars).slot == "Bar soap"
    assert codes(proposed(bars[:3])) == (["B-0", "B-1", "B-2"], [])
    assert codes(proposed(bars[:2])) == (["B-0", "B-1"], [])


def test_pieces_beside_a_slot_differ_in_more_than_their_scent() -> None:
    """Her sheet names no forms, so that size, price and contents alone say what is of one kind."""
    plain = {"form": ""}
    bars = [item(f"B-{at}", **plain, name=f"Bar {at}", scent=scent) for at, scent in enumerate(("oat", "rose", "mint"))]
    jars = [item(f"J-{at}", **{**JAR, **plain}, scent=scent) for at, scent in enumerate(("oat", "rose"))]
    found = proposed([*bars, *jars, item("L-1", **{**BALM, **plain})])
    assert [one.code[0] for one in found.fixed].count("B") < 2
    assert len({one.size for one in (*found.fixed, found.options[0])}) == len(found.fixed) + 1
    alone = proposed([*bars[:2], item("L-1", **{**BALM, **plain})])
    assert len({one.size for one in alone.fixed}) == len(alone.fixed) - bool(len(alone.fixed) > 2)


def test_fewer_than_two_things_give_no_proposal() -> None:
    assert propose(shop([], [])) is None
    assert propose(shop([item("B-1")], [])) is None
    assert propose(shop([item("B-1"), item("B-2", status="closed")], [])) is None


def test_the_smallest_box_is_taken_that_closes_over_the_pieces() -> None:
    boxes = [
        {"code": code, "inside": inside, "weight": "50 g", "cost": "1.00", **more}
        for code, inside, more in (
            ("L", "260 x 190 x 75 mm", {}),
            ("M", "210 x 160 x 75 mm", {}),
            ("FLAT", "210 x 160 x 60 mm", {}),  # the jar does not stand in it
            ("GONE", "200 x 150 x 70 mm", {"on_hand": 0}),
        )
    ]
    assert proposed(GOODS, packaging={"box": boxes}).box == "M"
    assert proposed(GOODS, packaging={}).box == ""


def test_the_small_thing_is_left_out_where_only_that_lets_a_box_close() -> None:
    goods = [one if one.code != "L-1" else item("L-1", **{**BALM, "size": "150 x 100 x 42 mm"}) for one in GOODS]
    assert codes(proposed(goods))[0] == ["B-1"]
    assert proposed(goods).box == "S"


def test_an_exact_answer_has_the_last_word() -> None:
    boxes = [{"code": code, "inside": "210 x 160 x 75 mm", "weight": "50 g", "cost": "1"} for code in ("A", "B")]
    found = propose(shop(GOODS, [], packaging={"box": boxes}), lambda box, _pieces: box.code == "B")
    assert found is not None
    assert found.box == "B"


def test_a_thing_worth_less_than_a_tenth_of_the_set_is_no_gift() -> None:
    goods = [*GOODS, item("X-1", **{**BALM, "form": "sticker", "size": "9 x 9 x 9 mm", "retail": "0.50"})]
    assert "X-1" not in codes(proposed(goods))[0]


sides = st.integers(5, 200)
goods = st.lists(
    st.builds(
        lambda at, form, size, on_hand, upright: item(
            f"X-{at}", form=form, size=f"{size[0]} x {size[1]} x {size[2]} mm", on_hand=on_hand, upright=upright
        ),
        st.integers(0, 9999),
        st.sampled_from(["soap", "balm", "butter", ""]),
        st.sampled_from([(80, 55, 25), (70, 70, 60), (18, 18, 70)]) | st.tuples(sides, sides, sides),
        st.none() | st.integers(0, 9).map(str),
        st.sampled_from(["yes", "no"]),
    ),
    max_size=12,
    unique_by=lambda one: one.code,
)


@given(goods)
def test_any_shop_gives_the_same_sensible_proposal_in_any_order(items: list[Item]) -> None:
    found = propose(shop(items, []))
    assert found == propose(shop(items[::-1], []))
    if found is None:
        assert sum(one.on_hand != 0 for one in items) < 2
        return
    assert len({one.code for one in found.items}) == len(found.items) >= 2
    assert all(one.on_hand != 0 for one in found.items)
    assert len(found.options) != 1
    assert bool(found.slot) == bool(found.options)
    if found.box:
        box = shop(items, []).packaging.boxes[0]
        assert all(loosely_fits(box, (*found.fixed, option), settings()) for option in found.options)


def test_options_whose_codes_end_alike_get_parts_of_their_own() -> None:
    jars = [item(code, **JAR, on_hand="9") for code in ("SC-01", "BB-01", "BB-02")]
    assert proposed([item("B-1"), item("L-1", **BALM), *jars]).parts == ("BB01", "BB02", "SC01")
    assert proposed(GOODS).parts == ("", "")


def holding(code: str, *fixed: str, choose: tuple[str, ...] = (), **says: object) -> GiftSet:
    """A set with these pieces, and a slot with these options."""
    contents: list[dict[str, object]] = [{"item": one} for one in fixed]
    contents += [{"slot": "Jar", "choose": list(choose)}] if choose else []
    return gift_set(contents, code=code, name=code, **says)


def test_pieces_that_no_live_set_holds_come_first() -> None:
    used = holding("SET-1", "B-1", "L-1")
    assert codes(proposed(GOODS, used))[0] == ["B-2", "L-1"]
    closed = holding("SET-1", "B-1", "L-1", status="closed")
    assert codes(proposed(GOODS, closed))[0] == ["B-1", "L-1"]


def test_then_come_those_of_which_the_name_or_the_season_speaks() -> None:
    assert codes(proposed(GOODS, about="Roses at dusk"))[0] == ["B-2", "L-1"]
    assert codes(proposed(GOODS, about="An oat and a hop"))[0] == ["B-1", "L-1"]
    salve = item("L-2", **{**BALM, "form": "salve", "size": "20 x 20 x 72 mm"})
    assert codes(proposed([*GOODS, salve]))[0] == ["B-1", "L-1"]
    assert codes(proposed([*GOODS, salve], about="Salve for winter"))[0] == ["B-1", "L-2"]


def test_why_they_are_proposed_is_said_in_one_line() -> None:
    why = proposed(GOODS, holding("SET-1", "B-1", "L-1"), about="Rose and mint").why
    assert why == (
        'no live set holds B-2, J-1, J-2; "rose" is said of B-2; "mint" is said of J-2; at least 12 of each are on hand'
    )
    bare = [one.model_copy(update={"on_hand": None}) for one in GOODS]
    assert proposed(bare).why == "5 items are on sale, and these go together"


def test_no_composition_that_is_there_is_proposed_again() -> None:
    """A set with a slot is all its variants; of a family the options that lie with the same pieces are left out."""
    first = proposed(GOODS)
    again = proposed(GOODS, holding("SET-1", "B-1", "L-1", choose=("J-1", "J-2")))
    assert codes(again) != codes(first)
    every = [
        holding(f"S-{at}", *fixed)
        for at, fixed in enumerate((("B-1", "B-2"), ("B-2", "B-3"), ("B-1", "B-3"), ("B-1", "B-2", "B-3")))
    ]
    bars = [item(f"B-{at}") for at in (1, 2, 3)]
    assert codes(proposed(bars, *every[:3]))[0] == ["B-1", "B-2", "B-3"]
    assert propose(shop(bars, every)) is None


@given(goods, st.lists(st.integers(0, 11), min_size=6, max_size=6))
def test_one_proposal_after_the_other_never_gives_the_same_pieces_twice(items: list[Item], statuses: list[int]) -> None:
    sets: list[GiftSet] = []
    variants: set[frozenset[str]] = set()
    for at, status in enumerate(statuses):
        found = propose(shop(items, sets))
        if found is None:
            return
        fixed = {one.code for one in found.fixed}
        there = {frozenset((*fixed, option.code)) for option in found.options} or {frozenset(fixed)}
        assert not there & variants
        variants |= there
        choose = tuple(option.code for option in found.options)
        sets.append(holding(f"S-{at}", *sorted(fixed), choose=choose, status="closed" if status % 2 else "on sale"))
