"""The rows to send: put over the last feed, they give today's, whatever moved in between."""

import datetime
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from listkit.actions.changes import ChangeTable, changed_rows, changes_between, rows_of_codes
from listkit.actions.facts import table_columns
from listkit.compute.build import build_catalog
from listkit.model.channel import Channel, Column
from listkit.model.gift_set import Slot
from listkit.model.shop import SetFolder, Shop
from listkit.pipeline import Listed, list_catalog
from listkit.read.shop import read_shop
from listkit.units.money import Money
from tests.shops import DEMO, demo_photos

Edit = Callable[[Shop], Shop]
_DAY = datetime.date(2027, 3, 1)
KEYS = ("hedgerow_fair", "stall", "web_shop", "web_shop_fr", "leaning", "mixed", "sorted")
_ONCE = (
    Column(heading="Code", value="sku"),
    Column(heading="Story", value="description", once=True),
    Column(heading="Cheapest", value="lowestPrice", once=True),
    Column(heading="Words", value="{{ name }} · {{ price | in_currency }}"),
    Column(heading="Left", value="inventoryLevel"),
    Column(heading="Choice {n}", value="choice", repeat=2),
)


@cache
def demo_with_once() -> Shop:
    """The demo shop and, beside its own channels, one whose rows lean on each other."""
    shop, problems = read_shop(DEMO, photo_facts=demo_photos())
    assert problems == []
    web = next(one for one in shop.channels if one.key == "web_shop")
    leaning = web.model_copy(update={"name": "Leaning", "columns": _ONCE, "make": ("feed",)})
    kinds: tuple[dict[str, object], ...] = (
        {"key": "leaning"},
        {"key": "mixed", "rows": "listing, then variants"},
        {"key": "sorted", "sort": ("price",)},
    )
    return replace(shop, channels=(*shop.channels, *(leaning.model_copy(update=kind) for kind in kinds)))


@cache
def truth_before() -> Listed:
    """The truth that was published."""
    return list_catalog(build_catalog(demo_with_once()), _DAY)


def _with_item(code: str, **facts: object) -> Edit:
    def edit(shop: Shop) -> Shop:
        items = (item.model_copy(update=facts) if item.code == code else item for item in shop.items)
        return replace(shop, items=tuple(items))

    return edit


def _without_set(code: str) -> Edit:
    return lambda shop: replace(shop, sets=tuple(one for one in shop.sets if one.gift_set.code != code))


def _without_option(at: int) -> Edit:
    """Take the last option out of a slot, where nothing else names it."""

    def shorter(entry: object, gone: str) -> object:
        if not isinstance(entry, Slot):
            return entry
        return entry.model_copy(update={"choose": tuple(one for one in entry.choose if one.item != gone)})

    def edit(shop: Shop) -> Shop:
        sets = list(shop.sets)
        one = sets[at % len(sets)]
        slot = next((entry for entry in one.gift_set.contents if isinstance(entry, Slot)), None)
        if slot is None or len(slot.choose) < 2:
            return shop
        gone = next(option.item for option in reversed(slot.choose) if option.item != slot.default)
        contents = tuple(shorter(entry, gone) for entry in one.gift_set.contents)
        notes = tuple(note for note in one.gift_set.variants if gone not in note.options.values())
        sets[at % len(sets)] = _told_otherwise(one, contents=contents, variants=notes)
        return replace(shop, sets=tuple(sets))

    return edit


def _told_otherwise(one: SetFolder, **facts: object) -> SetFolder:
    return replace(one, gift_set=one.gift_set.model_copy(update=facts))


def _renamed(at: int, words: str) -> Edit:
    def edit(shop: Shop) -> Shop:
        sets = list(shop.sets)
        sets[at % len(sets)] = _told_otherwise(sets[at % len(sets)], name=words)
        return replace(shop, sets=tuple(sets))

    return edit


def _in_another_order(shop: Shop) -> Shop:
    return replace(shop, sets=shop.sets[::-1])


def _with_decimal_comma(shop: Shop) -> Shop:
    comma = [
        one.model_copy(update={"dialect": one.dialect.model_copy(update={"decimal": ","})}) for one in shop.channels
    ]
    return replace(shop, channels=tuple(comma))


def _edits() -> st.SearchStrategy[list[Edit]]:
    codes = st.sampled_from([item.code for item in demo_with_once().items])
    sets = st.sampled_from([one.gift_set.code for one in demo_with_once().sets])
    places, pounds = st.integers(0, 20), st.decimals(5, 25, places=2)
    return st.lists(
        st.one_of(
            st.builds(lambda code, amount: _with_item(code, retail=Money(amount, "GBP")), codes, pounds),
            st.builds(lambda code, pieces: _with_item(code, on_hand=pieces), codes, st.integers(0, 40)),
            st.builds(lambda code, words: _with_item(code, name=words), codes, st.sampled_from(["Myrtle", "Sea Mist"])),
            st.builds(_renamed, places, st.sampled_from(["Late Light", "Old Orchard"])),
            st.builds(_without_set, sets),
            st.builds(_without_option, places),
            st.just(_in_another_order),
            st.just(_with_decimal_comma),
        ),
        max_size=4,
    )


@cache
def feed_before(key: str) -> dict[str, dict[str, str]]:
    """The feed that was published on a channel."""
    channel = truth_before().channel(key)
    assert channel is not None
    return _feed(truth_before(), channel)


def _feed(truth: Listed, channel: Channel) -> dict[str, dict[str, str]]:
    """Return the rows of the whole feed by code, each by its headings."""
    return _by_code(truth, channel, rows_of_codes("feed.csv", channel, truth.listings_of(channel.key), None))


def _by_code(truth: Listed, channel: Channel, table: ChangeTable) -> dict[str, dict[str, str]]:
    columns = table_columns(channel, truth.listings_of(channel.key))
    at = next(number for number, one in enumerate(columns) if one.field is not None and one.field.name == "sku")
    return {row[at]: dict(zip(table.headings, row, strict=True)) for row in table.rows}


def test_every_channel_is_looked_at() -> None:
    assert tuple(channel.key for channel in demo_with_once().channels) == KEYS


FOUR = [_with_item("OH-B01", retail=Money(Decimal("9.10"), "GBP")), _renamed(1, "Late Light"), _without_set("OHS-4"),
        _in_another_order]  # fmt: skip
FOUR_MORE = [_with_item("OH-U01", on_hand=0), _with_item("OH-L01", name="Myrtle"), _without_option(0),
             _with_decimal_comma]  # fmt: skip


@settings(max_examples=8)
@given(moves=st.deferred(_edits))  # the demo is read when the test runs, not when tests are gathered
@example(moves=FOUR)
@example(moves=FOUR_MORE)
def test_the_rows_to_send_put_over_the_old_feed_give_the_new_one(moves: list[Edit]) -> None:
    """Every kind of move, and eight lists of random ones; many more take minutes, see below."""
    assert_rows_to_send_lead_to_what_is_listed(moves)


@pytest.mark.long
@settings(max_examples=400)
@given(moves=st.deferred(_edits))
def test_the_rows_to_send_are_right_after_hundreds_of_random_moves(moves: list[Edit]) -> None:
    assert_rows_to_send_lead_to_what_is_listed(moves)


def assert_rows_to_send_lead_to_what_is_listed(moves: list[Edit]) -> None:
    shop = demo_with_once()
    for move in moves:
        shop = move(shop)
    truth = list_catalog(build_catalog(shop), _DAY)
    for key in KEYS:
        assert_rows_to_send_lead_to(truth, key)


def assert_rows_to_send_lead_to(truth: Listed, key: str) -> None:
    before = truth_before()
    told = changes_between(before, truth, key)
    new = truth.channel(key)
    assert new is not None
    table = changed_rows(new, truth.listings_of(key), told)
    feed = dict(feed_before(key))
    for code in told.found.gone:
        del feed[code]
    assert feed | _by_code(truth, new, table) == _feed(truth, new)
