"""What differs between two states of a channel."""

from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from listkit.ledger.changes import Change, Changes, Rows, changes, move
from listkit.units.money import amount_of
from tests.ledger.rows import row

values = st.one_of(st.sampled_from(["1.00", "2.00", "a text"]), st.integers(0, 3), st.lists(st.text(max_size=2)))
rows = st.dictionaries(
    st.sampled_from(["A", "B", "C", "D"]),
    st.dictionaries(st.sampled_from(["price", "weight", "choice", "not a field of ours"]), values),
)


@given(rows)
def test_nothing_differs_from_itself(state: Rows) -> None:
    assert changes(state, state) == Changes()
    assert not changes(state, state)


@given(rows, rows)
def test_what_is_told_leads_from_the_old_state_to_the_new(old: Rows, new: Rows) -> None:
    found = changes(old, new)
    state: dict[str, dict[str, Any]] = {code: dict(one) for code, one in old.items() if code not in found.gone}
    state |= {code: dict(new[code]) for code in found.new}
    for change in found.changed:
        assert state[change.code].get(change.field) == change.old
        state[change.code][change.field] = change.new
        if change.new is None:
            del state[change.code][change.field]
    assert state == new


@given(rows, rows)
def test_the_way_back_is_the_way_turned_round(old: Rows, new: Rows) -> None:
    there, back = changes(old, new), changes(new, old)
    assert (set(there.new), set(there.gone)) == (set(back.gone), set(back.new))
    turned = {(one.code, one.field, repr(one.new), repr(one.old)) for one in back.changed}
    assert {(one.code, one.field, repr(one.old), repr(one.new)) for one in there.changed} == turned


def test_fields_are_told_in_the_order_of_the_table() -> None:
    old, new = row("A"), row("A", "30.00", fullCost="9.50", gtin="9520000010010", weight=507)
    found = changes({"A": old}, {"A": new})
    assert [change.field for change in found.changed] == ["gtin", "price", "weight", "fullCost"]
    assert found.changed_codes == ("A",)


def test_an_amount_tells_how_far_it_moved() -> None:
    moved = move(Change("A", "price", "7.50", "8.00"))
    assert moved is not None
    assert moved.difference == Decimal("0.50")
    assert f"{moved.share:.4f}" == "0.0667"
    assert move(Change("A", "price", "0.00", "8.00")).share is None  # type: ignore[union-attr]
    assert move(Change("A", "weight", 119, 125)) is None
    assert move(Change("A", "price", None, "8.00")) is None
    assert move(Change("A", "name", "7.50", "8.00")) is None


def test_only_a_plain_amount_is_one() -> None:
    assert amount_of("29.00") == Decimal("29.00")
    assert [amount_of(value) for value in (None, 29, ["29.00"], "NaN", "dear", "")] == [None] * 6
