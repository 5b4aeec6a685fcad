"""Drawings of boxes: to scale, read by an independent XML parser, told in words."""

import json
import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from xml.etree import ElementTree

import pytest

from listkit.cli import main
from listkit.compute.box.fit import verdict_in
from listkit.compute.box.searches import Searches
from listkit.compute.catalog import SetFacts
from listkit.listing.listings import Listings
from listkit.listing.print_words import voice_in
from listkit.units.length import Size
from listkit.write.asked_pages import packing_pages
from listkit.write.box_drawing import drawing

SVG = "{http://www.w3.org/2000/svg}"
BOXED = [f"OHS-{number}" for number in range(1, 7)]
GOLDEN = Path(__file__).parents[1] / "golden" / "box-drawing"


def facts_of(demo: Listings, code: str) -> SetFacts:
    [facts] = [one for one in demo.catalog.sets if one.code == code]
    return facts


def svg_of(demo: Listings, code: str) -> str:
    """The drawing of a set's first variant."""
    facts, shop = facts_of(demo, code), demo.catalog.shop
    assert facts.box is not None
    verdict = verdict_in(facts.box, facts.variants[0].pieces, shop.settings.packing, stacked=False, searches=Searches())
    return drawing(facts, facts.variants[0], verdict, shop)


def drawn(demo: Listings, code: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg_of(demo, code))


def views(root: ElementTree.Element) -> list[ElementTree.Element]:
    return [part for part in root.iter(f"{SVG}g") if part.get("class") == "view"]


def of_class(part: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [one for one in part.iter() if one.get("class") == name]


def extent(shape: ElementTree.Element) -> tuple[Decimal, Decimal, Decimal, Decimal]:
    """Left, top, right and bottom of a circle or rectangle."""
    found = {key: Decimal(text) for key, text in shape.items() if key in {"x", "y", "width", "height", "cx", "cy", "r"}}
    if "r" in found:
        return found["cx"] - found["r"], found["cy"] - found["r"], found["cx"] + found["r"], found["cy"] + found["r"]
    return found["x"], found["y"], found["x"] + found["width"], found["y"] + found["height"]


def around(word: ElementTree.Element, *, wide: float) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a centred text whose letters are so wide; one that is turned reads upwards."""
    size = float(word.get("font-size", 12))
    x, y, half = float(word.get("x", 0)), float(word.get("y", 0)), len(word.text or "") * size * wide / 2
    if (turned := word.get("transform")) is None:
        return x - half, y - size * 0.7, x + half, y
    assert turned == f"rotate(-90 {word.get('x')} {word.get('y')})"
    return x - size * 0.7, y - half, x, y + half


@pytest.mark.parametrize("code", BOXED)
def test_every_piece_is_drawn_in_both_views_within_its_box(code: str, demo: Listings) -> None:
    pieces = facts_of(demo, code).variants[0].pieces
    for view in views(drawn(demo, code)):
        [inside] = of_class(view, "inside")
        left, top, right, foot = extent(inside)
        shapes = [extent(shape) for shape in of_class(view, "piece")]
        assert len(shapes) == len(pieces)
        tenth = Decimal("0.1")  # of a pixel, by rounding
        for shape in shapes:
            assert left - tenth <= shape[0] < shape[2] <= right + tenth
            assert top - tenth <= shape[1] < shape[3] <= foot + tenth


@pytest.mark.parametrize("code", BOXED)
def test_seen_from_above_no_two_pieces_overlap_and_each_has_its_number(code: str, demo: Listings) -> None:
    above, _ = views(drawn(demo, code))
    shapes = [extent(shape) for shape in of_class(above, "piece")]
    for at, one in enumerate(shapes):
        for other in shapes[at + 1 :]:
            across = min(one[2], other[2]) - max(one[0], other[0])
            down = min(one[3], other[3]) - max(one[1], other[1])
            assert min(across, down) <= Decimal("0.1")
    marks = [text.text for text in above.iter(f"{SVG}text") if text.get("font-weight") == "bold"]
    assert sorted(filter(None, marks)) == [str(number) for number in range(1, len(shapes) + 1)]


def test_it_is_to_scale_and_told_to_those_who_do_not_see_it(demo: Listings) -> None:
    root = drawn(demo, "OHS-1")
    above, front = views(root)
    wide, high = (float(of_class(above, "inside")[0].get(side, 0)) for side in ("width", "height"))
    assert wide / high == pytest.approx(162 / 122, rel=0.001)
    [jar] = [shape for shape in of_class(above, "piece") if shape.get("r")]
    assert 2 * float(jar.get("r", 0)) / wide == pytest.approx(72 / 162, rel=0.001)
    [standing] = [shape for shape in of_class(front, "piece") if float(shape.get("height", 0)) > wide / 162 * 63]
    assert float(standing.get("height", 0)) / wide == pytest.approx(64 / 162, rel=0.001)
    assert root.get("role") == "img"
    described = (root.findtext(f"{SVG}desc") or "").replace("\u00a0", " ")
    assert "Rosemary & Rind bar soap: 58 × 86 × 28 mm, flat" in described
    assert "32 mm in length, 32 mm in width, 6 mm in height; the box is 36 % filled" in described


def test_a_lying_tube_is_a_circle_to_one_who_looks_along_it(demo: Listings) -> None:
    """Pocket Hive's lip balm lies across, away from the front."""
    above, front = views(drawn(demo, "OHS-6"))
    assert [bool(shape.get("r")) for shape in of_class(above, "piece")].count(True) == 1
    [tube] = [shape for shape in of_class(front, "piece") if shape.get("r")]
    wide = float(of_class(front, "inside")[0].get("width", 0))
    assert 2 * float(tube.get("r", 0)) / wide == pytest.approx(18 / 138, rel=0.01)


def test_a_long_figure_beside_a_view_stays_on_the_paper(demo: Listings) -> None:
    """Nine inches are 228.6 mm; a letter is at most 0.6 of its size wide."""
    facts, shop = facts_of(demo, "OHS-1"), demo.catalog.shop
    assert facts.box is not None
    sides = Size.parse("9 x 9 x 3 1/8 in")
    large = facts.box.model_copy(update={"inside": sides})
    verdict = verdict_in(large, facts.variants[0].pieces, shop.settings.packing, stacked=False, searches=Searches())
    svg = drawing(facts, replace(facts.variants[0], box=large), verdict, shop)
    root = ElementTree.fromstring(svg)
    assert "79.4 mm" in {part.text for part in root.iter(f"{SVG}text")}
    for part in root.iter(f"{SVG}text"):
        if part.get("text-anchor") == "middle" and part.get("font-size") is None:
            _, top, right, _ = around(part, wide=0.6)
            assert right <= 400, part.text
            assert top >= 0, part.text


def test_a_variant_is_drawn_and_packed_in_its_own_box_where_each_has_the_smallest(demo: Listings) -> None:
    facts, shop = facts_of(demo, "OHS-1"), demo.catalog.shop
    assert facts.box is not None
    box = facts.box.model_copy(update={"code": "OWN", "inside": Size.parse("300 x 250 x 120 mm"), "fill": None})
    variant = replace(facts.variants[0], box=box)
    verdict = verdict_in(box, variant.pieces, shop.settings.packing, stacked=False, searches=Searches())
    assert "Inside 300 × 250 × 120" in drawing(facts, variant, verdict, shop)
    catalog = replace(demo.catalog, sets=(replace(facts, variants=(variant,)),))
    voice, _ = voice_in(shop, "en-GB")
    assert voice is not None
    [pages] = packing_pages(catalog, (variant.code,), voice)
    [card] = json.loads(pages.layout.facts)["cards"]
    assert [name for mark, name in card["rows"] if not mark][:1] == ["Box OWN"]
    assert "Inside 300 × 250 × 120" in card["drawing"]


def test_only_greys_are_used(demo: Listings) -> None:
    for shape in drawn(demo, "OHS-4").iter():
        for colour in (shape.get("fill", "none"), shape.get("stroke", "none")):
            third = (len(colour) - 1) // 3
            parts = {colour[1 + at * third : 1 + (at + 1) * third] for at in range(3)}
            assert colour in {"none", "url(#free)"} or len(parts) == 1, colour


def test_signs_of_a_name_neither_break_the_drawing_nor_get_into_it(demo: Listings) -> None:
    facts, shop = facts_of(demo, "OHS-2"), demo.catalog.shop
    one = facts.variants[0]
    assert facts.box is not None
    verdict = verdict_in(facts.box, one.pieces, shop.settings.packing, stacked=False, searches=Searches())
    odd = one.pieces[0].item.model_copy(update={"name": '<script>"&\x01'})
    strange = replace(one, pieces=(replace(one.pieces[0], item=odd), *one.pieces[1:]))
    root = ElementTree.fromstring(drawing(facts, strange, verdict, shop))
    assert "script" not in {part.tag.removeprefix(SVG) for part in root.iter()}


@pytest.mark.parametrize("code", BOXED)
def test_the_demo_shops_boxes_are_still_drawn_as_a_person_has_seen_them(
    code: str, demo: Listings, request: pytest.FixtureRequest
) -> None:
    kept = GOLDEN / f"{code}.svg"
    if request.config.getoption("--update-golden"):
        kept.parent.mkdir(exist_ok=True)
        kept.write_text(svg_of(demo, code), encoding="utf-8")
    assert svg_of(demo, code) == kept.read_text(encoding="utf-8")


def test_show_writes_a_drawing_and_tells_every_box(
    demo_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, shop = tmp_path / "box.svg", ("--shop", str(demo_folder))
    assert main(["show", "OHS-1", *shop, "--out", str(path)]) == 0
    ElementTree.fromstring(path.read_text(encoding="utf-8"))
    assert main(["show", "OHS-1", *shop, "--out", str(tmp_path / "box.png")]) == 1
    assert "ends in .svg" in capsys.readouterr().err
    assert main(["show", "OHS-7", *shop, "--out", str(path)]) == 1
    assert main(["show", "OHS-2", *shop, "--out", str(tmp_path / "drawings")]) == 0
    names = sorted(file.name for file in (tmp_path / "drawings").iterdir())
    assert names == ["potting-bench-S01.svg", "potting-bench-S02.svg"]
    capsys.readouterr()
    assert main(["show", "OHS-1", *shop]) == 0
    told = capsys.readouterr().out
    assert "S (this one)  yes" in told
    assert "P             no" in told
    assert "58 × 86 × 28 mm, flat; 11.1 mm from the left, 18 mm from the front" in told


def lines_of(path: str) -> list[tuple[float, float, float, float]]:
    """The straight lines of a path of M, H and V: left, top, right and bottom of each."""
    lines, x, y = [], 0.0, 0.0
    for letter, figures in re.findall(r"([MHV])([^MHV]+)", path):
        numbers = [float(figure) for figure in figures.split()]
        if letter == "M":
            x, y = numbers
        elif letter == "H":
            lines.append((min(x, numbers[0]), y, max(x, numbers[0]), y))
            x = numbers[0]
        else:
            lines.append((x, min(y, numbers[0]), x, max(y, numbers[0])))
            y = numbers[0]
    return lines


@pytest.mark.parametrize("code", BOXED)
def test_no_line_goes_through_a_word(code: str, demo: Listings) -> None:
    """Axes and dimension lines leave room for numbers, names and figures; a letter is half its size wide at least."""
    for view in views(drawn(demo, code)):
        lines = [line for path in view.iter(f"{SVG}path") for line in lines_of(path.get("d", ""))]
        for word in view.iter(f"{SVG}text"):
            if word.get("text-anchor") != "middle":
                continue
            begins, above, ends, foot = around(word, wide=0.5)
            for left, top, right, bottom in lines:
                clear = right <= begins or left >= ends or bottom <= above or top >= foot
                assert clear, (word.text, (left, top, right, bottom))


def test_the_legend_tells_places_in_whole_millimetres_and_pieces_by_name_and_form(demo: Listings) -> None:
    described = (drawn(demo, "OHS-1").findtext(f"{SVG}desc") or "").replace("\u00a0", " ")
    assert re.findall(r"(\S+) mm from the left", described) == ["11", "80", "79"]
    assert "Rosemary & Rind bar soap" in described
