"""The picture of prices over time."""

import datetime
from decimal import Decimal
from xml.etree import ElementTree

import pytest

from listkit.ledger.history import HEIGHT, WIDTH, PricePoint, step_plot

SVG = "{http://www.w3.org/2000/svg}"
UNTIL = datetime.date(2026, 11, 25)


def point(day: int, price: str | None, channel: str = "web") -> PricePoint:
    return PricePoint(channel, datetime.date(2026, 11, day), None if price is None else Decimal(price))


def paths(svg: str) -> list[str]:
    """The lines of prices, without axes and keys."""
    return [one.attrib["d"] for one in ElementTree.fromstring(svg).iter(f"{SVG}path") if "L" in one.attrib["d"]]


def test_it_is_svg_with_a_title_and_a_name_for_each_channel() -> None:
    svg = step_plot("Price of OHS-1-U01 <&>", (point(1, "29.00"), point(3, "27.00", "stall")), UNTIL)
    root = ElementTree.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    assert root.findtext(f"{SVG}title") == "Price of OHS-1-U01 <&>"
    texts = [one.text for one in root.iter(f"{SVG}text")]
    assert {"web", "stall", "29.00", "27.00", "2026-11-01", "2026-11-25"} <= set(texts)
    assert not {one.tag.removeprefix(SVG) for one in root.iter()} & {"script", "style", "image"}


def test_a_price_is_a_step_and_runs_on_to_the_last_day() -> None:
    [path] = paths(step_plot("A", (point(1, "20.00"), point(13, "30.00")), UNTIL))
    xs = [float(part.split(",")[0]) for part in path[1:].split("L")]
    ys = [float(part.split(",")[1]) for part in path[1:].split("L")]
    assert xs[1] == xs[2]
    assert ys[0] == ys[1] > ys[2] == ys[3]
    assert xs[1] - xs[0] == pytest.approx(xs[3] - xs[2], abs=0.2)
    assert max(xs) < WIDTH
    assert max(ys) < HEIGHT


def test_a_line_breaks_where_it_was_taken_down() -> None:
    history = (point(1, "20.00"), point(5, None), point(9, "20.00"))
    assert len(paths(step_plot("A", history, UNTIL))) == 2


@pytest.mark.parametrize(
    "history",
    [(), (point(1, None),), (point(25, "20.00"),), (point(28, "20.00"),), (point(1, "0.00"),), (point(1, "1e30"),)],
)
def test_odd_histories_are_drawn_too(history: tuple[PricePoint, ...]) -> None:
    svg = step_plot("A\x01\ud800", history, UNTIL)
    assert "nan" not in svg
    ElementTree.fromstring(svg)
