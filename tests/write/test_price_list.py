"""Tests of the price list."""

from pathlib import Path
from typing import Any

from listkit.save.job import Job
from listkit.write import csv_feed
from listkit.write.context import WriteContext
from tests.write.two_sets import channel, listings


def job(**said: Any) -> Job:
    [made] = csv_feed.write_price_list(listings(channel(**said)), WriteContext("1"))
    return made


def written(folder: Path, made: Job) -> str:
    path = folder / "price-list.csv"
    made.recipe(*made.inputs, (path,))
    assert csv_feed.verify_prices(path, made.recipe, made.inputs) == ""
    return path.read_bytes().decode()


def test_a_price_list_has_a_line_a_variant_and_names_the_currency_once(tmp_path: Path) -> None:
    assert written(tmp_path, job(make=["price list"])) == (
        "code,name,options,price (GBP),sizes,gtin\r\n"
        'OHS-1-M02-L01,First Nectar gift set,"Clover & Cream body butter; Linden, Oat lip balm",23.50,'
        '"110 g; 30 ml; 4 x 5 g",9520123456788\r\n'
        'OHS-1-M02-L02,First Nectar gift set,"Clover & Cream body butter; Café crème lip balm",23.50,'
        '"110 g; 30 ml; 5 g",\r\n'
        'OHS-1-M03-L01,First Nectar gift set,"Ginger & Propolis body butter; Linden, Oat lip balm",25.50,'
        '"110 g; 30 ml; 4 x 5 g",\r\n'
        'OHS-1-M03-L02,First Nectar gift set,"Ginger & Propolis body butter; Café crème lip balm",25.50,'
        '"110 g; 30 ml; 5 g",\r\n'
        "OHS-2,One Bar gift set,,7.50,110 g,9520000010003\r\n"
    )


def test_a_price_list_speaks_the_channels_dialect_and_always_tells_every_variant(tmp_path: Path) -> None:
    text = written(tmp_path, job(rows="listing", dialect={"separator": ";", "decimal": ",", "line_end": "lf"}))
    assert text.splitlines()[0] == "code;name;options;price (GBP);sizes;gtin"
    assert text.splitlines()[-1] == "OHS-2;One Bar gift set;;7,50;110 g;9520000010003"
    assert len(text.splitlines()) == 6


def test_a_price_list_that_was_changed_is_told(tmp_path: Path) -> None:
    made = job()
    written(tmp_path, made)
    path = tmp_path / "price-list.csv"
    path.write_bytes(path.read_bytes().replace(b"25.50", b"26.50", 1))
    assert csv_feed.verify_prices(path, made.recipe, made.inputs) == "row 4 is not the one that was asked for."


def test_only_channels_that_ask_for_a_price_list_get_one() -> None:
    assert list(csv_feed.write_price_list(listings(channel(make=["feed"])), WriteContext("1"))) == []
    [file] = job().files
    assert (file.path, file.prices) == ("web_shop/price-list.csv", ("23.50", "23.50", "25.50", "25.50", "7.50"))
