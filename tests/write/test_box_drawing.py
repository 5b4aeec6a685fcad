"""Drawings of boxes: to scale, read by an independent XML parser, told in words."""

from pathlib import Path
from xml.etree import ElementTree

import pytest

from listkit.cli import main
from listkit.compute.packing import verdict_in
from listkit.listing.listings import Listings
from listkit.write.box_drawing import TEMPLATE, drawing

SVG = "{http://www.w3.org/2000/svg}"
BOXED = [f"OHS-{number}" for number in range(1, 7)]


def drawn(demo: Listings, code: str) -> ElementTree.Element:
    """The drawing of a set's first variant."""
    [facts] = [one for one in demo.catalog.sets if one.code == code]
    shop, one = demo.catalog.shop, facts.variants[0]
    assert facts.box is not None
    verdict = verdict_in(facts.box, one.pieces, shop.settings.packing, stacked=False)
    return ElementTree.fromstring(drawing(facts, one, verdict, shop.templates[TEMPLATE]))


@pytest.mark.parametrize("code", BOXED)
def test_every_piece_is_drawn_twice_within_its_box_and_named(code: str, demo: Listings) -> None:
    [facts] = [one for one in demo.catalog.sets if one.code == code]
    root = drawn(demo, code)
    pieces = facts.variants[0].pieces
    _, above, *rest = root.iter(f"{SVG}rect")
    [front] = [rect for rect in rest if rect.get("stroke-width") == "2"]
    shapes = [*root.iter(f"{SVG}ellipse"), *(rect for rect in rest if rect is not front)]
    assert len(shapes) == 2 * len(pieces)
    floor = float(above.get("y", 0)) + float(above.get("height", 0))
    for shape in root.iter(f"{SVG}ellipse"):
        assert float(shape.get("cy", 0)) + float(shape.get("ry", 0)) <= floor
    words = " ".join(text.text or "" for text in root.iter(f"{SVG}text"))
    assert all(piece.item.name in words for piece in pieces)


def test_it_is_to_scale_and_told_to_those_who_do_not_see_it(demo: Listings) -> None:
    root = drawn(demo, "OHS-1")
    _, above, *_ = root.iter(f"{SVG}rect")
    assert float(above.get("width", 0)) / float(above.get("height", 1)) == pytest.approx(162 / 122, rel=0.001)
    jar = next(iter(root.iter(f"{SVG}ellipse")))
    assert 2 * float(jar.get("rx", 0)) == pytest.approx(72 / 162 * 360, abs=0.2)
    assert root.get("role") == "img"
    described = root.findtext(f"{SVG}desc") or ""
    assert "Rosemary & Rind bar soap, 58 × 86 × 28 mm" in described
    assert "36 % filled" in described


def test_show_writes_a_drawing_and_tells_every_box(
    demo_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "box.svg"
    assert main(["show", "OHS-1", "--shop", str(demo_folder), "--out", str(path)]) == 0
    ElementTree.fromstring(path.read_text(encoding="utf-8"))
    assert main(["show", "OHS-1", "--shop", str(demo_folder), "--out", str(tmp_path / "box.png")]) == 1
    assert "ends in .svg" in capsys.readouterr().err
    assert main(["show", "OHS-7", "--shop", str(demo_folder), "--out", str(path)]) == 1
    assert main(["show", "OHS-1", "--shop", str(demo_folder)]) == 0
    told = capsys.readouterr().out
    assert "S (this one)  yes" in told
    assert "P             no" in told
