"""`listkit compare`, on exports as channels give them: exactly what was planted is found, nothing passed over."""

import json
import re
from pathlib import Path

import pytest

from listkit import bounds
from tests.cli.published import DAY, Told, built_shop


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop that is built."""
    return built_shop(tmp_path / "shop", capsys)


def export(told: Told, text: str, name: str = "export.csv") -> str:
    file = told.shop.parent / name
    file.write_text(text, encoding="utf-8", newline="")
    return str(file)


def test_a_channel_that_shows_the_truth_differs_in_nothing(told: Told) -> None:
    assert told.run("compare", "web", export(told, told.made("web/feed.csv"))) == 0
    assert told.out == "0 differences, 0 missing there, 0 unknown here, 0 twice there.\n"
    assert not (told.shop / "out/web/changes/corrections.csv").exists()


def test_rounding_quoting_order_and_separator_are_the_channels_own_matter(told: Told) -> None:
    theirs = (
        '"Price";"Item number";"Jar";"Title";"Pieces left"\r\n'
        '"16,5";"RRS-1-J2";"Water Mint body butter";"{J2}";"25.0"\r\n'
        '"£16.50";"RRS-1-J1";"Willow  Bark body butter ";"{J1}";"25"\r\n'
    )
    titles = {row["Item number"][-2:]: row["Title"] for row in told.rows("web/feed.csv")}
    assert told.run("compare", "web", export(told, theirs.format(**titles))) == 0, told.out


def test_exactly_the_planted_differences_are_found_and_corrected(told: Told) -> None:
    rows = told.rows("web/feed.csv")
    title = rows[0]["Title"]
    lines = [
        "Item number,Title,Price,Pieces left,Jar",
        f'RRS-1-J1,"{title}",15.50,25,Willow Bark body butter',
        f'RRS-1-J1,"{title}",16.50,25,Willow Bark body butter',
        "RRS-OLD,Last year's box,12.00,3,",
    ]
    found = told.json("compare", "web", export(told, "\n".join(lines) + "\n"), status=1)
    assert [(one["code"], one["field"], one["ours"], one["theirs"]) for one in found["differences"]] == [
        ("RRS-1-J1", "price", "16.50", "15.50")
    ]
    assert found["missing_there"] == ["RRS-1-J2"]
    assert found["unknown_there"] == ["RRS-OLD"]
    assert [twin["code"] for twin in found["twins"]] == ["RRS-1-J1"]
    corrected = told.rows("web/changes/corrections.csv")
    assert [(row["Item number"], row["Price"]) for row in corrected] == [("RRS-1-J1", "16.50"), ("RRS-1-J2", "16.50")]


def test_two_hundred_twins_are_told_without_flooding_the_screen(told: Told) -> None:
    header, first, *_ = told.made("web/feed.csv").splitlines()
    assert told.run("compare", "web", export(told, "\n".join([header, *[first] * 200]))) == 1
    assert "twice there: RRS-1-J1" in told.out
    assert len(told.out.splitlines()) < 60


def test_a_column_that_is_not_there_is_told_and_never_passed_over(told: Told) -> None:
    rows = [f'{row["Item number"]},"{row["Title"]}"' for row in told.rows("web/feed.csv")]
    assert told.run("compare", "web", export(told, "\n".join(["Item number,Title", *rows]))) == 0
    for heading in ("Price", "Pieces left", "Jar"):
        assert f'not compared: column "{heading}"' in told.out


@pytest.mark.parametrize(("text", "said"), [
    ("Title,Price\nDawn,16.50\n", "code"),
    ("", "empty"),
    ("Item number,Price\nAB-1,2.00\nAB-2,3.00\n", "none of its codes is one of ours"),
    ('Item number,Price\nRRS-1-J1,"16.5', "quot"),
    ("{", ""),
])  # fmt: skip
def test_a_file_that_is_no_export_of_the_channel_is_told(told: Told, text: str, said: str) -> None:
    assert told.run("compare", "web", export(told, text)) == 1
    assert "export.csv" in told.err
    assert said in told.err


def test_an_export_of_another_channel_is_told(told: Told) -> None:
    other = told.shop / "out/stall/price-list.csv"
    assert told.run("compare", "web", str(other)) == 1
    assert "Market stall" in told.err + told.out


@pytest.mark.parametrize("feed", ["csv", "xlsx", "jsonl"])
def test_our_own_file_differs_in_nothing_whatever_its_kind_and_dates(told: Told, feed: str) -> None:
    told.edit("channels/web.toml", 'feed = "csv"', f'feed = "{feed}"')
    column = '\n[[column]]\nheading = "Until"\nvalue = "availabilityEnds"\n\n[dialect]\ndate = "28/02/2027"\n'
    file = told.shop / "channels/web.toml"
    file.write_text(file.read_text(encoding="utf-8") + column, encoding="utf-8")
    assert told.build() == 0, told.err
    assert told.run("compare", "web", str(told.shop / f"out/web/feed.{feed}")) == 0, told.out


ROWS = ("variant", "listing", "listing, then variants")


@pytest.mark.parametrize("rows", ROWS)
@pytest.mark.parametrize("feed", ["csv", "xlsx", "json", "jsonl"])
def test_feed_record_ledger_and_comparison_speak_of_the_same_rows(told: Told, feed: str, rows: str) -> None:
    told.edit("channels/web.toml", 'feed = "csv"', f'feed = "{feed}"\nrows = "{rows}"')
    told.edit("channels/web.toml", '\n[[file]]\nname = "prices"\ncolumns = ["Item number", "Price"]\n', "")
    built = {channel["key"]: channel for channel in told.json("build", "--today", DAY)["channels"]}
    assert built["web"]["rows"] == len(told.made("web/record.jsonl").splitlines())
    assert told.run("record", "web") == 0, told.err
    assert told.json("compare", "web", str(told.shop / f"out/web/feed.{feed}"))["missing_there"] == []
    assert told.run("changes", "web") == 0, told.out


@pytest.mark.parametrize("rows", ROWS)
def test_a_price_list_has_the_rows_that_are_recorded_of_it(told: Told, rows: str) -> None:
    told.edit("channels/stall.toml", "name =", f'rows = "{rows}"\nname =')
    assert told.build() == 0
    recorded = [json.loads(line)["sku"] for line in told.made("stall/record.jsonl").splitlines()]
    assert recorded == [row["code"] for row in told.rows("stall/price-list.csv")]
    assert told.run("record", "stall") == 0
    assert told.run("compare", "stall", str(told.shop / "out/stall/price-list.csv")) == 0, told.out


@pytest.mark.parametrize(
    ("column", "name"),
    [("", "weight (kg)"), ('[[column]]\nheading = "Ounces"\nvalue = "weight"\nunit = "oz"\n', "Ounces")],
)
def test_lines_of_json_hold_weights_in_the_units_that_are_named_there(told: Told, column: str, name: str) -> None:
    told.edit("channels/web.toml", 'feed = "csv"', 'feed = "jsonl"')
    file = told.shop / "channels/web.toml"
    text = file.read_text(encoding="utf-8")
    text = text if column else text.partition("[[")[0]
    file.write_text(f'{text}\n{column}\n[dialect]\nweight = "kg"\nlength = "in"\n', encoding="utf-8")
    assert told.build() == 0, told.err
    ours = told.made("web/feed.jsonl")
    assert told.json("compare", "web", export(told, ours, "export.jsonl"))["differences"] == []
    heavier = re.sub(rf'"{re.escape(name)}":', r"\g<0>1", ours)
    assert heavier != ours
    assert told.run("compare", "web", export(told, heavier, "export.jsonl")) == 1
    assert "weight" in told.out


def test_a_file_that_is_not_there_is_told(told: Told) -> None:
    assert told.run("compare", "web", "nowhere.csv") == 1
    assert told.err.startswith("nowhere.csv: ")


def test_shops_that_buy_from_us_show_no_table(told: Told) -> None:
    assert told.run("compare", "wholesale", export(told, told.made("web/feed.csv"))) == 1
    assert "Name a channel." in told.err


def test_the_fault_of_an_item_that_no_set_uses_stops_nothing_and_one_of_its_own_set_does(told: Told) -> None:
    assert told.build() == 0, told.err
    with (told.shop / "items.csv").open("a", encoding="utf-8") as file:
        file.write("RR-Z9,Broken,bar soap,100 g,oops,1.40,104,80 x 55 x 25,40,external-use,,no\n")
    told.run("compare", "stall", str(told.shop / "out/stall/price-list.csv"))
    assert "Until this is mended" not in told.err
    assert "RR-Z9" not in told.err
    told.edit("items.csv", "Willow Bark,body butter,100 ml,9.00", "Willow Bark,body butter,100 ml,nine")
    assert told.run("compare", "stall", str(told.shop / "out/stall/price-list.csv")) == 1
    assert "Until this is mended, sets are left out that the channel may show rightly." in told.err


@pytest.mark.parametrize("name", ["export.json", "export.jsonl"])
def test_an_export_nested_deeper_than_people_nest_is_told(told: Told, name: str) -> None:
    deep = f'{{"sku": {"[" * 700}{"]" * 700}}}'
    assert told.run("compare", "web", export(told, deep, name)) == 1
    assert "nested too deeply" in told.err


@pytest.mark.parametrize("sign", ["\u2028", "\u0085"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_sign_that_parts_lines_elsewhere_parts_none_of_json(told: Told, sign: str, end: str) -> None:
    """RFC 8259, section 7: within a text no sign must be escaped but quotes, backslashes and those of C0."""
    lines = [f'{{"sku":"RRS-1-J{number}","name":"a{sign}b"}}' for number in (1, 2)]
    assert told.run("compare", "web", export(told, end.join((*lines, "")), "export.jsonl")) == 1
    assert "no JSON object" not in told.err
    assert "RRS-1-J2" in told.out


@pytest.mark.parametrize("other", ["5", '"red"', "true", "null", '{"name": 5}', "[[1]]"])
def test_facts_of_another_kind_in_a_json_export_are_borne(told: Told, other: str) -> None:
    names = ("offers", "brand", "additionalProperty", "price", "weight", "image", "description")
    product = ", ".join(['"sku": "RRS-1-J1"', *[f'"{name}": {other}' for name in names]])
    assert told.run("compare", "web", export(told, f"{{{product}}}", "export.json")) == 1


@pytest.mark.parametrize(("name", "text"), [
    ("e.csv", "Item number\nA\nB\nC\n"), ("e.jsonl", '{"sku":"A"}\n{"sku":"B"}\n{"sku":"C"}\n'),
    ("e.json", '[{"sku":"A"},{"sku":"B"},{"sku":"C"}]'),
])  # fmt: skip
def test_an_export_of_more_rows_than_any_shop_has_is_told(
    told: Told, name: str, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Seven million short ones took 30 s and 1.9 GB."""
    monkeypatch.setattr(bounds, "EXPORT_ROWS", 2)
    assert told.run("compare", "web", export(told, text, name)) == 1
    assert told.err == f"{name}: it has more rows than any shop. Is it the right file?\n"


@pytest.mark.parametrize(("name", "text"), [
    ("e.csv", "Item number" + "," * 1_000 + "\nA\n"),
    ("e.jsonl", "".join(f'{{"sku":"A{number}","f{number}":1}}\n' for number in range(1_001))),
])  # fmt: skip
def test_an_export_of_more_columns_than_any_table_has_is_told(told: Told, name: str, text: str) -> None:
    """Each row is filled up to all of them: 20,000 rows with a name of their own each took 17 s."""
    assert told.run("compare", "web", export(told, text, name)) == 1
    assert told.err == f"{name}: it has more columns than any shop's table. Is it the right file?\n"


def test_a_cell_longer_than_any_text_of_a_shop_is_told(told: Told) -> None:
    assert told.run("compare", "web", export(told, "Item number,Price\nRRS-1-J1," + "9" * 3_000_000 + "\n")) == 1
    assert "line 2: a cell is longer than any text of a shop" in told.err


def test_json_of_more_values_than_any_shop_has_is_told(told: Told, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "EXPORT_JSON_VALUES", 5)
    assert told.run("compare", "web", export(told, '[{"sku":"A"},{"sku":"B"}]', "e.json")) == 1
    assert told.err.startswith("e.json: as JSON it is larger than 50 MB, or holds more than any shop has.")
