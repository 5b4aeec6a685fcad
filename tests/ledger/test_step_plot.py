"""The picture of prices over time."""

import datetime
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from listkit.ledger.history import HEIGHT, NARROW, WIDTH, Around, Band, PricePoint, step_plot

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


def test_two_prices_of_the_first_day_are_a_step_within_it() -> None:
    [path] = paths(step_plot("A", (point(24, "20.00"), point(24, "30.00")), UNTIL))
    xs = [float(part.split(",")[0]) for part in path[1:].split("L")]
    ys = [float(part.split(",")[1]) for part in path[1:].split("L")]
    assert xs[0] < xs[1] == xs[2] < xs[3]
    assert ys[0] == ys[1] > ys[2] == ys[3]


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


# What is around the lines


def drawing(*history: PricePoint, around: Around) -> ElementTree.Element:
    return ElementTree.fromstring(step_plot("A", history, UNTIL, around))


def test_places_have_their_names_and_the_axis_its_currency() -> None:
    root = drawing(point(1, "29.00"), around=Around({"web": "Own web shop"}, "GBP"))
    said = [each.text for each in root.iter(f"{SVG}text")]
    assert "Own web shop" in said
    assert "web" not in said
    assert said.count("GBP") == 1


def test_marks_and_bands_are_explained_below_the_days_where_there_are_any() -> None:
    words = ("published", "lower for a time")
    published, band = (datetime.date(2026, 11, 3),), (Band(datetime.date(2026, 11, 5), datetime.date(2026, 11, 6)),)
    for around, wanted in (
        (Around(marked=words[0], shaded=words[1]), []),
        (Around(published=published, marked=words[0], shaded=words[1]), ["published"]),
        (Around(bands=band, marked=words[0], shaded=words[1]), ["lower for a time"]),
        (Around(published=published, bands=band, marked=words[0], shaded=words[1]), ["published", "lower for a time"]),
        (Around(published=published, bands=band), []),
    ):
        root = drawing(point(1, "29.00"), point(9, "27.00"), around=around)
        texts = {each.text or "": each.attrib for each in root.iter(f"{SVG}text")}
        assert [text for text in texts if text in words] == wanted
        lowest = max((float(each["y"]) for text, each in texts.items() if text not in words), default=0)
        assert all(lowest + 11 <= float(texts[text]["y"]) <= HEIGHT for text in wanted)


def test_the_axis_has_round_prices_each_where_it_belongs() -> None:
    root = drawing(point(1, "20.00"), point(13, "30.00"), around=Around())
    ticks = {
        Decimal(each.text or ""): float(each.attrib["y"])
        for each in root.iter(f"{SVG}text")
        if each.attrib["text-anchor"] == "end" and each.text
    }
    assert {Decimal(20), Decimal(25), Decimal(30)} <= ticks.keys()
    assert ticks[Decimal(20)] - ticks[Decimal(25)] == pytest.approx(ticks[Decimal(25)] - ticks[Decimal(30)], abs=0.2)
    [line] = paths(ElementTree.tostring(root, encoding="unicode"))
    assert float(line[1:].split("L")[0].split(",")[1]) == pytest.approx(ticks[Decimal(20)] - 4, abs=0.2)


def test_places_with_the_same_prices_share_a_line_and_others_never_hide_each_other() -> None:
    same = (point(1, "20.00"), point(1, "20.00", "fair"), point(5, "22.00"), point(5, "22.00", "fair"))
    svg = step_plot("A", same, UNTIL)
    assert len(paths(svg)) == 1
    assert {"web", "fair"} <= {each.text for each in ElementTree.fromstring(svg).iter(f"{SVG}text")}
    first, second = paths(step_plot("A", (*same, point(1, "20.00", "stall")), UNTIL))
    heights = [float(path[1:].split("L")[0].split(",")[1]) for path in (first, second)]
    assert abs(heights[0] - heights[1]) >= 2


def test_reductions_are_shaded_from_their_first_day_to_their_last_and_cut_at_the_edges() -> None:
    days = [datetime.date(2026, 11, 5), datetime.date(2026, 11, 15), datetime.date(2027, 1, 1)]
    bands = (
        Band(days[0], days[1], "Advent: 15 % less"),
        Band(days[1], days[2], "more"),
        Band(days[2], days[2], "later"),
    )
    root = drawing(point(1, "20.00"), around=Around(bands=bands))
    shades = [each for each in root.iter(f"{SVG}rect") if each.find(f"{SVG}title") is not None]
    assert [each.findtext(f"{SVG}title") for each in shades] == [
        "Advent: 15 % less: 2026-11-05 – 2026-11-15", "more: 2026-11-15 – 2027-01-01",
    ]  # fmt: skip
    [line] = paths(ElementTree.tostring(root, encoding="unicode"))
    left, right = (float(part.split(",")[0]) for part in line[1:].split("L"))
    a_day = (right - left) / 24
    assert float(shades[0].attrib["x"]) == pytest.approx(left + 4 * a_day, abs=0.2)
    assert float(shades[0].attrib["width"]) == pytest.approx(10 * a_day, abs=0.3)
    assert float(shades[1].attrib["x"]) + float(shades[1].attrib["width"]) == pytest.approx(right, abs=0.2)


def test_days_of_publication_are_marked_once_each_and_no_names_of_days_overlap() -> None:
    published = (datetime.date(2026, 11, 3), datetime.date(2026, 11, 3), datetime.date(2020, 1, 1))
    long_ago = PricePoint("web", datetime.date(2024, 2, 29), Decimal("18.00"))
    root = drawing(long_ago, point(3, "20.00"), around=Around(published=published))
    marks = [each for each in root.iter(f"{SVG}path") if each.find(f"{SVG}title") is not None]
    assert [each.findtext(f"{SVG}title") for each in marks] == ["2026-11-03"]
    names = [(float(each.attrib["x"]), each.text) for each in root.iter(f"{SVG}text")
             if each.attrib["text-anchor"] == "middle"]  # fmt: skip
    assert names[0][1] == "2024-02-29"
    assert names[-1][1] == "2026-11-25"
    assert len(names) > 3
    assert all(later[0] - earlier[0] >= 70 for earlier, later in pairwise(names))


def test_a_narrow_picture_has_all_that_a_wide_one_has_within_its_width() -> None:
    """Names of places and their prices are below it; lines, days and amounts end before its right edge."""
    history = (point(1, "29.00"), point(3, "27.00", "stall"), point(9, "30.00"))
    around = Around({"web": "Own web shop", "stall": "Saturday stall"}, "Price in GBP")
    wide, narrow = (
        ElementTree.fromstring(step_plot("A", history, UNTIL, around, narrow=each)) for each in (False, True)
    )
    told = [sorted(each.text or "" for each in root.iter(f"{SVG}text")) for root in (wide, narrow)]
    assert set(told[1]) <= set(told[0])
    assert {"Own web shop", "Saturday stall", "Price in GBP", "30.00"} <= set(told[1])
    right, bottom = map(int, narrow.attrib["viewBox"].split()[2:])
    assert right == NARROW
    for each in narrow.iter(f"{SVG}text"):
        room = {"start": 1.0, "middle": 0.5, "end": 0.0}[each.attrib["text-anchor"]]
        assert float(each.attrib["x"]) + room * len(each.text or "") * 6.2 <= right + 1, each.text
        assert float(each.attrib["y"]) < bottom
