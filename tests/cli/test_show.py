"""`listkit show`: figures as an owner and as a script read them."""

import csv
import io
import json
import re
from decimal import Decimal
from pathlib import Path

import pytest

from listkit.cli import main
from listkit.compute.box import Vector
from listkit.compute.box.arrange import Decision, Solid, decide
from tests.shops import clean_shop, edited


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What the command prints when all is well."""
    assert main(["show", *words]) == 0
    return capsys.readouterr().out


def test_a_set_is_shown_step_by_step_with_what_each_channel_leaves(
    demo_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = told(capsys, "OHS-1", "--variant", "OHS-1-U01", "--shop", str(demo_folder)).splitlines()
    assert lines[0] == "OHS-1 First Nectar · box S · 58 can be made · amounts in GBP"
    rows = {line[:15].strip(): line[15:].split() for line in lines}
    assert rows["items"] == ["28.00", "28.00"]
    assert rows["uplift"] == ["1.00", "29.00"]
    assert rows["full cost"][0] == "-9.28"
    assert rows["kept"] == ["16.28", "19.37", "18.90", "18.90"]


def test_json_gives_money_as_text_and_weights_as_numbers(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The worked set of the trade: 29.00, full cost 9.28; an own web shop at 2.3 % and 0.15 leaves 18.90."""
    facts = json.loads(told(capsys, "first-nectar", "--json", "--shop", str(demo_folder)))
    one = facts["variants"][1]
    assert (facts["code"], facts["box"], facts["can_make"]) == ("OHS-1", "S", 58)
    assert (one["code"], one["options"], one["price"], one["full_cost"]) == (
        "OHS-1-U01",
        {"Jar": "OH-U01"},
        "29.00",
        "9.28",
    )
    assert (one["gift_weight"], one["parcel_weight"], one["volumetric_weight"]) == (443, 531, 570)
    assert one["kept"]["web_shop"] == "18.90"
    assert (one["can_make"], one["stock"]) == (31, 29)


def test_all_sets_stand_thin_ones_first(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = list(csv.DictReader(io.StringIO(told(capsys, "--all", "--csv", "--shop", str(demo_folder)))))
    cover = [float(row["wholesale ÷ cost"]) for row in rows]
    assert cover == sorted(cover)
    assert rows[0]["code"] == "OHS-5"
    table = told(capsys, "--all", "--shop", str(demo_folder))
    assert all(row["name"] in table for row in rows)
    assert len(json.loads(told(capsys, "--all", "--json", "--shop", str(demo_folder)))) == len(rows)


def test_what_is_not_there_is_told_with_what_is(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["show", "OHS-99", "--shop", str(demo_folder)]) == 1
    assert "There are: OHS-" in capsys.readouterr().err
    assert main(["show", "OHS-1", "--variant", "X", "--shop", str(demo_folder)]) == 1
    assert "OHS-1-U01" in capsys.readouterr().err
    assert main(["show", "--shop", str(demo_folder)]) == 2


def test_the_readmes_example_is_what_show_says(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    _, _, after = readme.partition("`listkit show OHS-1 --variant OHS-1-U01 --shop demo_shop`")
    example = after.split("```")[1].strip()
    assert main(["show", "OHS-1", "--variant", "OHS-1-U01", "--shop", str(demo_folder)]) == 0
    assert example in capsys.readouterr().out


def test_a_box_that_does_not_carry_a_set_is_no_answer_though_it_goes_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Bar and jar weigh 104 g and 180 g; the box carries 200 g."""
    folder = clean_shop(tmp_path, edited("packaging.toml", 'weight = "60 g"', 'weight = "60 g"\nmost_weight = "200 g"'))
    row = next(line for line in told(capsys, "RRS-1", "--shop", str(folder)).splitlines() if "S (this one)" in line)
    assert row.endswith("too heavy: all")
    [box] = json.loads(told(capsys, "RRS-1", "--json", "--shop", str(folder)))["boxes"]
    assert (box["does_not_take"], box["too_heavy"]) == ([], ["RRS-1-J1", "RRS-1-J2"])


def test_all_sets_as_json_ask_no_question_of_boxes_that_computing_has_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked: list[tuple[object, ...]] = []

    def counted(solids: tuple[Solid, ...], room: Vector, stacked: bool, most: int) -> Decision:
        asked.append((solids, room, stacked))
        return decide(solids, room, stacked, most)

    monkeypatch.setattr("listkit.compute.box.searches.decide", counted)
    folder = clean_shop(tmp_path, edited("sets/dawn/set.toml", 'box = "S"', 'box = "smallest"'))
    told(capsys, "--all", "--json", "--shop", str(folder))
    assert asked
    assert len(asked) == len(set(asked))


def test_json_states_what_goes_off_each_price(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What is kept is the price less tax, fee, postage and full cost, each as it is printed."""
    sets = json.loads(told(capsys, "--all", "--json", "--shop", str(demo_folder)))
    variants = [one for facts in sets for one in facts["variants"]]
    assert {one["status"] for one in variants} == {"on sale"}
    for one in variants:
        assert one["taken"].keys() == one["kept"].keys()
        for channel, taken in one["taken"].items():
            off = sum((Decimal(taken[name]) for name in ("tax", "fee", "postage")), Decimal(one["full_cost"]))
            assert Decimal(one["price"]) - off == Decimal(one["kept"][channel])
    assert any(Decimal(taken["fee"]) for one in variants for taken in one["taken"].values())


def test_variants_stand_side_by_side_with_the_price_in_force_first(
    demo_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By hand: 36.00 less 15 % is 30.60, 34.00 is 28.90."""
    shop = str(demo_folder)
    lines = [line.split() for line in told(capsys, "OHS-5", "--today", "2026-12-20", "--shop", shop).splitlines()]
    assert ["sold", "at", "30.60", "30.60", "28.90"] in lines
    assert lines.index(["sold", "at", "30.60", "30.60", "28.90"]) < lines.index(
        ["usual", "price", "36.00", "36.00", "34.00"]
    )
    assert lines[2] == ["OHS-5-U01", "OHS-5-U02", "OHS-5-S02"]
    after = told(capsys, "OHS-5", "--today", "2026-12-27", "--shop", shop)
    assert "usual price" not in after
    assert ["sold", "at", "36.00", "36.00", "34.00"] in [line.split() for line in after.splitlines()]


def test_one_variant_is_sold_at_what_is_in_force(demo_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("OHS-5", "--variant", "OHS-5-S02", "--shop", str(demo_folder))
    rows = {line[:15].strip(): line[15:].split() for line in told(capsys, *words, "--today", "2026-12-20").splitlines()}
    assert rows["reduction"] == ["-5.10", "28.90"]
    assert set(rows["sold at"]) == {"28.90"}
    assert "reduction" not in told(capsys, *words, "--today", "2027-01-20")


def test_where_channels_differ_each_has_its_own_price(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sale = '\n[[reduction]]\nfrom = 2027-03-01\nuntil = 2027-03-07\nby = "10 %"\nchannels = ["stall"]\n'
    text = (clean_shop(tmp_path / "clean") / "shop.toml").read_text("utf-8")
    fair = 'name = "Fair"\nmake = ["price list"]\n'
    shop = clean_shop(tmp_path / "shop", {"shop.toml": text + sale, "channels/fair.toml": fair})
    on = ("--today", "2027-03-02", "--shop", str(shop))
    lines = [line.split() for line in told(capsys, "RRS-1", *on).splitlines()]
    assert ["sold", "at,", "Fair", "16.50", "16.50"] in lines
    assert ["sold", "at,", "Market", "stall", "14.85", "14.85"] in lines
    alone = [line.split() for line in told(capsys, "RRS-1", "--variant", "RRS-1-J1", *on).splitlines()]
    assert ["reduction", "-1.65"] in alone
    assert ["sold", "at", "16.50", "16.50", "14.85"] in alone


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_tables_go_on_the_terminal(
    width: int, demo_folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = str(demo_folder)
    monkeypatch.setattr("listkit.cli.show.width_of", lambda _: width)
    table = told(capsys, "--all", "--shop", shop).splitlines()
    assert max(map(len, table[:-1])) <= max(width, len("OHS-8  Fête Day Pair  "))
    assert "more columns do not go on this screen" in table[-1]
    wide = told(capsys, "--all", "--wide", "--shop", shop).splitlines()
    assert max(map(len, wide)) > 120
    assert len(wide) == len(table) - 1
    if width >= 60:
        facts = told(capsys, "OHS-1", "--shop", shop).partition("Step by step")[0]
        tables = [line for line in facts.splitlines()[1:] if "Postage is free" not in line]
        assert max(map(len, tables)) <= width
    monkeypatch.setattr("listkit.cli.show.width_of", lambda _: 0)  # what goes into a file or a pipe is whole
    assert told(capsys, "--all", "--shop", shop).splitlines() == wide


def test_closed_sets_are_marked_among_all(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changes = edited("sets/dawn/set.toml", 'box = "S"', 'status = "closed"\nbox = "S"')
    shop = str(clean_shop(tmp_path, changes))
    assert "Dawn on the Weir (closed)" in told(capsys, "--all", "--shop", shop)
    assert "(closed)" not in told(capsys, "--all", "--csv", "--shop", shop)


def test_a_name_that_looks_like_a_formula_is_none_in_the_table(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    for file in (shop / "sets").glob("*/set.toml"):
        text = file.read_text(encoding="utf-8")
        file.write_text(re.sub(r"^name = .*$", 'name = "=1+1"', text, flags=re.MULTILINE), encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(told(capsys, "--all", "--csv", "--shop", str(shop)))))
    assert rows
    assert {row["name"] for row in rows} == {"'=1+1"}
