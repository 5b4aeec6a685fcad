"""The steps from a folder to all that is known, and from the ledger to the text: what is announced of a reduction."""

import datetime
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from listkit.compute.build import build_catalog
from listkit.ledger.store import LEDGER, Stamp, record
from listkit.listing.listings import Listing
from listkit.model.shop import Shop
from listkit.pipeline import check_listed, check_shop, list_catalog, open_shop
from listkit.problem import Level
from tests.ledger.rows import row, snapshot
from tests.listing.shops import BAR, channel, folder, shop
from tests.shops import DEMO_DRAFT, clean_shop

SALE = datetime.date(2027, 3, 1)


def one_bar(root: Path, retail: str, *, announcing: dict[str, Any] | None = None, more: Any = (), **says: Any) -> Shop:
    """One bar without a box, at its own price, with a reduction that begins on the first of March."""
    reduction = {"from": "2027-03-01", "until": "2027-03-07", **says}
    bar = folder(contents=[{"item": "HH-B1"}], box="none", reduction=[*more, reduction])
    made = shop(bar, items=(BAR | {"retail": retail},), channels=(channel(text="plain"),), announcing=announcing or {})
    return replace(made, root=root)


def recorded(root: Path, *prices: tuple[int, str], on: str = "web") -> None:
    """Record the bar's price as of so many days before the sale."""
    for day, price in prices:
        at = datetime.datetime.combine(SALE + datetime.timedelta(day), datetime.time(10), datetime.UTC)
        record(root / LEDGER, on, snapshot(row("HHS-1", price)), Stamp(at.isoformat()))


def shown(of: Shop, day: datetime.date = SALE) -> Listing:
    listed = list_catalog(build_catalog(of), day)
    assert listed.problems == ()
    return listed.listings.listings[0]


def test_the_lowest_price_of_the_30_days_before_is_announced_and_not_the_last_one(tmp_path: Path) -> None:
    """Directive 98/6/EC, Art. 6a, as read in Commission notice 2021/C 526/02.

    The prices are ours: 30.00 from day -40, 24.00 on days -20 to -15, 30.00 again, sale 22.50: 6.25 %, not 25 %.
    """
    recorded(tmp_path, (-40, "30.00"), (-20, "24.00"), (-14, "30.00"))
    text = shown(one_bar(tmp_path, "30.00", by="25 %")).plain
    assert "Was £24.00, now £22.50 until 7 March 2027." in text
    assert "£30.00" not in text


def test_a_number_in_another_currency_is_no_lower_price(tmp_path: Path) -> None:
    """For five days the shop was in euros."""
    recorded(tmp_path, (-40, "30.00"))
    euros = snapshot(row("HHS-1", "24.00", priceCurrency="EUR"))
    record(tmp_path / LEDGER, "web", euros, Stamp("2027-02-09T10:00:00+00:00"))
    recorded(tmp_path, (-15, "30.00"))
    assert "Was £30.00, now £22.50" in shown(one_bar(tmp_path, "30.00", by="25 %")).plain


def test_a_price_that_was_as_low_before_is_not_announced(tmp_path: Path) -> None:
    """CJEU C-330/23 (26 September 2024): last price 1.69, sale price 1.29, lowest of the 30 days 1.29."""
    recorded(tmp_path, (-60, "1.69"), (-20, "1.29"), (-10, "1.69"))
    listing = shown(one_bar(tmp_path, "1.69", ending=".29"))
    assert str(listing.offers[0].price) == "1.29"
    assert "Was" not in listing.plain
    assert listing.offers[0].prior is None
    assert listing.reduction is not None
    assert "£1.29 is not below £1.29" in listing.reduction.silent


def test_the_day_of_the_sale_itself_does_not_count(tmp_path: Path) -> None:
    recorded(tmp_path, (-40, "30.00"), (0, "22.50"))
    assert "Was £30.00, now £22.50" in shown(one_bar(tmp_path, "30.00", by="25 %")).plain
    assert "Was £30.00, now £22.50" in shown(one_bar(tmp_path, "30.00", by="25 %"), SALE + datetime.timedelta(6)).plain


def test_another_channel_s_prices_are_not_this_one_s(tmp_path: Path) -> None:
    recorded(tmp_path, (-40, "30.00"), on="fair")
    assert "Was" not in shown(one_bar(tmp_path, "30.00", by="25 %")).plain


def test_new_goods_are_announced_only_where_the_country_has_a_rule_for_them(tmp_path: Path) -> None:
    """Directive 98/6/EC, Art. 6a(4): States may provide for less than 30 days for what is new on the market."""
    recorded(tmp_path, (-10, "30.00"))
    silent = shown(one_bar(tmp_path, "30.00", by="25 %"))
    assert silent.reduction is not None
    assert "prices are known since 19 February 2027 only, not for 30 days" in silent.reduction.silent
    stated = {"known_days": 7}
    assert "Was £30.00, now £22.50" in shown(one_bar(tmp_path, "30.00", by="25 %", announcing=stated)).plain


def test_a_cut_that_grows_keeps_the_price_before_its_first_step_where_the_country_says_so(tmp_path: Path) -> None:
    """Directive 98/6/EC, Art. 6a(5): 10 % and then 20 % without a break, measured against 30.00 or against 27.00."""
    first = {"from": "2027-02-20", "until": "2027-02-28", "by": "10 %"}
    recorded(tmp_path, (-60, "30.00"), (-9, "27.00"))
    usual = shown(one_bar(tmp_path, "30.00", more=(first,), by="20 %"))
    assert "Was £27.00, now £24.00" in usual.plain
    grown = one_bar(tmp_path, "30.00", more=(first,), by="20 %", announcing={"further_cuts": True})
    assert "Was £30.00, now £24.00" in shown(grown).plain


def test_a_longer_time_to_look_back_finds_a_lower_price(tmp_path: Path) -> None:
    recorded(tmp_path, (-90, "26.00"), (-40, "30.00"))
    text = shown(one_bar(tmp_path, "30.00", by="25 %", announcing={"prior_days": 60})).plain
    assert "Was £26.00, now £22.50" in text
    assert "lowest price of the 60 days before" in text


def test_nothing_is_announced_where_the_owner_does_not_wish_it(tmp_path: Path) -> None:
    recorded(tmp_path, (-40, "30.00"))
    assert "Was" not in shown(one_bar(tmp_path, "30.00", by="25 %", announcing={"announce": False})).plain


def test_a_ledger_that_cannot_be_read_is_told_and_nothing_announced(tmp_path: Path) -> None:
    (tmp_path / LEDGER).write_bytes(b"no database at all")
    listed = list_catalog(build_catalog(one_bar(tmp_path, "30.00", by="25 %")), SALE)
    [problem], listings = listed.problems, listed.listings
    assert str(problem).startswith("Look at · ledger.sqlite3: it is no SQLite file.")
    assert "Was" not in listings.listings[0].plain
    assert listings.listings[0].reduction is not None
    assert listings.listings[0].reduction.silent == "HHS-1: the ledger cannot be read."


def test_the_ledger_is_not_opened_while_no_reduction_is_in_force(tmp_path: Path) -> None:
    (tmp_path / LEDGER).write_bytes(b"no database at all")
    before = SALE - datetime.timedelta(1)
    assert list_catalog(build_catalog(one_bar(tmp_path, "30.00", by="25 %")), before).problems == ()


def test_a_row_that_was_damaged_by_hand_is_told(tmp_path: Path) -> None:
    recorded(tmp_path, (-40, "30.00"))
    with closing(sqlite3.connect(tmp_path / LEDGER)) as connection:
        connection.execute("DROP TRIGGER content_keeps_UPDATE")
        connection.execute("UPDATE content SET text = '{'")
        connection.commit()
    [problem] = list_catalog(build_catalog(one_bar(tmp_path, "30.00", by="25 %")), SALE).problems
    assert problem.code == "ledger-unread"


def test_the_steps_one_by_one_find_what_all_of_them_find(demo_folder: Path, tmp_path: Path) -> None:
    """Of a shop without drafts, which the steps would list, and with nothing accepted, which they would tell."""
    finished = shutil.copytree(demo_folder, tmp_path / "shop", ignore=shutil.ignore_patterns(*DEMO_DRAFT))
    settings = (finished / "shop.toml").read_text(encoding="utf-8")
    (finished / "shop.toml").write_text(settings.partition("[[accepted]]")[0], encoding="utf-8")
    opened = open_shop(finished)
    listed = list_catalog(build_catalog(opened.shop), SALE, opened.problems)
    checked = check_listed(listed, photos=opened.photos)
    whole = check_shop(finished, SALE)
    assert checked.problems == whole.problems != ()
    assert checked.sheets == whole.sheets
    assert checked.photos == whole.photos
    assert list(checked.listings) == list(whole.listings)


def test_one_set_alone_is_listed_as_it_is_among_the_others(demo_folder: Path) -> None:
    opened = open_shop(demo_folder)
    whole = list_catalog(build_catalog(opened.shop), SALE)
    first = opened.shop.sets[0]
    alone = list_catalog(build_catalog(replace(opened.shop, sets=(first,))), SALE)
    among = [listing for listing in whole.listings if listing.facts.code == first.gift_set.code]
    of_set = [listing for listing in alone.listings if listing.facts.code == first.gift_set.code]
    assert (
        [(listing.channel.key, listing.title, listing.plain) for listing in of_set]
        == [(listing.channel.key, listing.title, listing.plain) for listing in among]
        != []
    )


@pytest.mark.parametrize("odd", ["a link", "a line\nbroken"])
def test_a_folder_among_the_sets_that_is_none_of_ours_is_told_and_the_rest_can_be_published(
    tmp_path: Path, odd: str
) -> None:
    sets = clean_shop(tmp_path / "shop")
    there = next((sets / "sets").iterdir())
    if "link" in odd:
        (sets / "sets" / odd).symlink_to(there, target_is_directory=True)
    else:
        shutil.copytree(there, sets / "sets" / odd)
    checked = check_shop(sets, datetime.date(2026, 11, 30))
    assert {problem.code for problem in checked.problems if problem.level is Level.MUST_FIX} == {
        "path-outside" if "link" in odd else "encoding"
    }
    sound = check_shop(clean_shop(tmp_path / "sound"), datetime.date(2026, 11, 30))
    assert [each.folder for each in checked.listings] == [each.folder for each in sound.listings]
    assert checked.aside.broken == ()
