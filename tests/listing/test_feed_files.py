"""Tests of a channel's several data files."""

import time
from typing import Any

import pytest

from listkit.listing.columns import FeedFile, feed_columns, feed_files, file_problems
from tests.write.two_sets import channel, own

COLUMNS = [{"heading": "Item number", "value": "sku"}, {"heading": "Price", "value": "price"}]


def files(*entries: dict[str, Any], **said: Any) -> dict[str, FeedFile]:
    return {one.name: one for one in feed_files(channel(file=list(entries), **said))}


def headings(one: FeedFile) -> list[str]:
    return [column.heading for column in one.channel.columns]


def problems(*entries: dict[str, Any], **said: Any) -> list[str]:
    return [str(problem) for problem in file_problems(channel(file=list(entries), **said))]


def test_the_feed_comes_first_and_extra_files_lie_beside_it() -> None:
    made = files({"name": "stock"}, {"name": "prices", "feed": "xlsx"})
    assert [one.path for one in made.values()] == [
        "web_shop/feed.csv",
        "web_shop/stock.csv",
        "web_shop/prices.xlsx",
    ]
    assert files({"name": "stock"}, make=["photos"]) == {}


def test_an_extra_file_has_the_channels_columns_or_those_it_chooses_or_its_own() -> None:
    own = {"name": "own", "column": [{"heading": "Code", "value": "sku"}]}
    made = files({"name": "all"}, {"name": "some", "columns": ["Price", "sku", "choice_2"]}, own, column=COLUMNS)
    assert headings(made["all"]) == ["Item number", "Price"]
    assert headings(made["some"]) == ["Price", "sku", "choice_2"]
    assert headings(made["own"]) == ["Code"]
    assert [str(made["some"].column_place(at, "value").key) for at in range(2)] == [
        "('column', 1, 'value')",
        "('file', 1, 'columns', 1)",
    ]
    assert made["own"].column_place(0, "longest").key == ("file", 2, "column", 0, "longest")


def test_a_field_that_is_named_alone_is_headed_with_the_unit_of_its_figures_and_no_other_heading_is() -> None:
    """A number tells nothing without its unit: UN/CEFACT Recommendation 20 and ISO 4217 say which there are."""
    fields = ["sku", "weight", "width", "price", "Price", "kept", "shelfLife", "inventoryLevel"]
    files = (
        {"name": "figures", "columns": fields, "dialect": {"weight": "kg", "length": "cm"}},
        {"name": "beside", "columns": ["price", "priceCurrency"]},
        {"name": "hers", "column": [{"heading": "weight", "value": "weight"}]},
    )
    said = channel(file=list(files), column=COLUMNS)
    listed = own(said)
    headed = {one.name: [column.heading for column in feed_columns(one.channel, listed)] for one in feed_files(said)}
    assert headed["figures"] == [
        "sku", "weight (kg)", "width (cm)", "price (GBP)", "Price", "kept (GBP)", "shelfLife (months)", "inventoryLevel"
    ]  # fmt: skip
    assert headed["beside"] == ["price", "priceCurrency"]
    assert headed["hers"] == ["weight"]
    assert headed["feed"] == ["Item number", "Price"]


def test_what_an_extra_file_says_stands_in_place_of_what_the_channel_says_and_nothing_else() -> None:
    said = {"dialect": {"separator": ";", "decimal": ","}, "sort": "price", "rows": "listing"}
    made = files({"name": "stock", "dialect": {"separator": "\t"}, "rows": "variant", "sort": []}, **said)
    stock = made["stock"].channel
    assert (stock.dialect.separator, stock.dialect.decimal) == ("\t", ",")
    assert (stock.rows, stock.sort) == ("variant", ())
    assert (made["feed"].channel.rows, made["feed"].channel.sort) == ("listing", ("price",))


def test_beside_a_json_feed_extra_files_are_csv_unless_they_say_otherwise() -> None:
    made = files({"name": "stock"}, {"name": "lines", "feed": "jsonl"}, feed="json")
    assert [one.path for one in made.values()] == ["web_shop/feed.json", "web_shop/stock.csv", "web_shop/lines.jsonl"]


@pytest.mark.parametrize(
    ("entries", "said", "told"),
    [
        ([{"name": "a"}, {"name": "a"}], {}, 'two files are called "a". Give each its own name.'),
        ([{"name": "a", "columns": ["pirce"]}], {}, 'there is no column and no field "pirce". Write "price".'),
        ([{"name": "a", "columns": ["Itm number"]}], {"column": COLUMNS}, 'Write "Item number".'),
        ([{"name": "a"}], {"sort": "-pirce"}, 'there is no field "pirce". Write "price".'),
        ([{"name": "a", "sort": ["price", "skuu"]}], {}, 'there is no field "skuu". Write "sku".'),
    ],
)
def test_what_names_nothing_is_told_once_with_what_is_near(
    entries: list[dict[str, Any]], said: dict[str, Any], told: str
) -> None:
    [found] = problems(*entries, **said)
    assert found.startswith("Must fix · channels/web_shop.toml: ")
    assert found.endswith(told)


def test_wrong_names_by_the_thousand_are_not_each_held_against_every_heading() -> None:
    """Three thousand of them with 1,900 headings took minutes; each is told, the first with what it is near."""
    columns = [{"heading": f"Heading {number}", "value": "name"} for number in range(1900)]
    chosen = [f"Heding {number}" for number in range(3000)]
    sort = [f"nam{number}" for number in range(3000)]
    file = {"name": "more", "columns": chosen, "sort": sort}
    began = time.process_time()
    found = [*file_problems(channel(file=[file], column=columns))]
    assert time.process_time() - began < 5
    assert len(found) == 6000
    assert found[0].hint.startswith('Write "Heading')
    assert {each.hint for each in found[2:]} == {"Which one is meant is not looked for, there are too many."}
