"""A feed that came out empty is told before it empties the place that it is sent to."""

from pathlib import Path

import pytest

from tests.cli.published import DAY, Told, small_shop

EMPTY = ("channels/web.toml", 'feed = "csv"', 'feed = "csv"\nsold_out = "hide"\nhold_back = 99')
CODE = "feed-empty"


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop that is not built yet."""
    return Told(small_shop(tmp_path / "shop"), capsys)


def test_a_first_feed_without_rows_is_looked_at(told: Told) -> None:
    told.edit(*EMPTY)
    assert told.run("check", "--today", DAY) == 0
    assert CODE in told.out
    assert told.build() == 0
    assert "0 to fix, 1 to look at; listkit check shows all." in told.err
    assert told.rows("web/feed.csv") == []


@pytest.mark.parametrize("recorded", [True, False])
def test_what_was_built_or_recorded_with_rows_stays_until_the_owner_says_so(told: Told, *, recorded: bool) -> None:
    assert told.build() == 0
    if recorded:
        assert told.run("record", "web") == 0
    before = told.made("web/feed.csv")
    told.edit(*EMPTY)
    for _ in range(2):
        assert told.build() == 1
        assert "2 rows" in told.err
        assert told.made("web/feed.csv") == before
    told.edit("shop.toml", "[prices]", '[checks]\nfeed-empty = "look at"\n\n[prices]')
    assert told.build() == 0, told.err
    assert told.rows("web/feed.csv") == []


def test_what_was_last_recorded_empty_is_empty_already(told: Told) -> None:
    told.edit(*EMPTY)
    assert told.build() == 0
    assert told.run("record", "web") == 0
    assert told.build() == 0


def test_the_copy_in_another_folder_counts_where_it_is_built(told: Told, tmp_path: Path) -> None:
    out = ("--out", str(tmp_path / "elsewhere"))
    assert told.build(*out) == 0
    told.edit(*EMPTY)
    assert told.build() == 0
    assert told.build(*out) == 1
    assert CODE in told.err


def test_a_fault_that_empties_a_feed_is_told_and_the_feed_is_no_second_order(told: Told) -> None:
    """A slip in shop.toml stops everything, and is told alone; where sets wait for a box, that is what to mend."""
    assert told.build() == 0
    told.edit("shop.toml", 'currency = "GBP"', "currency = GBP")
    told.run("check", "--today", DAY)
    assert CODE not in told.out + told.err
    told.edit("shop.toml", "currency = GBP", 'currency = "GBP"')
    told.edit("packaging.toml", 'inside = "160 x 120 x 70 mm"', 'inside = "160 x 120 mm"')
    told.run("check", "--today", DAY)
    said = " ".join((told.out + told.err).split())
    assert "has 2 sides, not three" in said
    assert "Mend first what is told of" in said
