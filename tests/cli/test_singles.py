"""Single pieces through a whole build: rows, texts, pictures and records; and that nothing of any set moves."""

import csv
import io
import json
from datetime import date
from pathlib import Path

import pytest

from tests.checked import problems_of
from tests.cli.published import DAY, Told
from tests.read.test_singles import picture
from tests.three_sets import outputs, three_sets

CROPS = """photo_address = "https://rr.example/p/"
listing_address = "https://rr.example/sets/"

[[crop]]
name = "grid"
ratio = "1:1"
width = 20
if_tight = "pad"
"""


def shop_with_pictures(folder: Path) -> Path:
    """The shop of three sets, its web shop with pictures."""
    clean = three_sets(folder)
    web = (clean / "channels/web.toml").read_text(encoding="utf-8")
    head, _, rest = web.replace('"listings"]', '"listings", "photos"]').partition("\n[[column]]")
    image = '\n[[column]]\nheading = "Image"\nvalue = "image_1"\n'
    address = '\n[[column]]\nheading = "Page"\nvalue = "url"\n'
    (clean / "channels/web.toml").write_text(f"{head}\n{CROPS}\n[[column]]{rest}{image}{address}", encoding="utf-8")
    return clean


def with_singles(folder: Path, stated: str = "\n[singles]\n") -> Path:
    text = (folder / "shop.toml").read_text(encoding="utf-8")
    (folder / "shop.toml").write_text(text + stated, encoding="utf-8")
    return folder


def rows(told: Told, path: str) -> list[dict[str, str]]:
    return list(csv.DictReader((told.shop / "out" / path).read_text(encoding="utf-8").splitlines()))


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """The shop, not yet built, with a picture and a story of one piece."""
    folder = shop_with_pictures(tmp_path / "shop")
    files = {"photos/items/RR-K1.png": picture(), "photos/items/RR-K1-2.png": picture(200)}
    files["items/RR-K1.md"] = b"Salts of {{ shop.name }}, for {{ cheapest }}.\n"
    for path, content in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content)
    return Told(folder, capsys)


def test_they_change_no_row_and_no_file_of_a_set(told: Told) -> None:
    """Property, held against the same shop without them: rows are the same and in front, files byte for byte."""
    assert told.build() == 0, told.err
    before = outputs(told.shop)
    with_singles(told.shop)
    assert told.build() == 0, told.err
    now = outputs(told.shop)
    joint = ("feed.csv", "prices.csv", "record.jsonl", "price-list.csv", "contact-sheet.html", "datapackage.json")
    for path, content in before.items():
        if path.endswith(("feed.csv", "prices.csv", "record.jsonl", "price-list.csv")) and "wholesale" not in path:
            assert now[path].startswith(content), path
            assert len(now[path]) > len(content), path
        elif not path.endswith((*joint, "manifest.json", "proof.html")):
            assert now[path] == content, path
    new = {path for path in now if path not in before}
    assert {path.partition("/")[0] for path in new} == {"web"}
    assert "web/listings/rr-k1.html" in new


def test_a_row_has_the_items_own_code_price_pictures_and_page(told: Told) -> None:
    with_singles(told.shop, '\n[singles]\nitems = ["RR-K1"]\n')
    assert told.build() == 0, told.err
    assert rows(told, "web/feed.csv")[-1] == {
        "Item number": "RR-K1", "Title": "Reed Mace bath salts", "Price": "7.00", "Pieces left": "25", "Jar": "",
        "Image": "https://rr.example/p/rr-k1-grid.jpg", "Page": "https://rr.example/sets/rr-k1",
    }  # fmt: skip
    assert rows(told, "stall/price-list.csv")[-1]["code"] == "RR-K1"
    assert (told.shop / "out/web/photos/rr-k1-2-grid.jpg").is_file()
    page = (told.shop / "out/web/listings/rr-k1.html").read_text(encoding="utf-8")
    assert "Salts of Reed &amp; Rushlight, for 7.00." in page
    for words in ("gift set", "gift box", "What is inside", "message card"):
        assert words not in page
    record = json.loads((told.shop / "out/web/record.jsonl").read_text(encoding="utf-8").splitlines()[-1])
    assert (record["sku"], record["weight"], record["alt"][0]) == (
        "RR-K1", 230, "Reed Mace bath salts, packed by Reed & Rushlight",
    )  # fmt: skip
    assert ("parcelWeight" in record, "box" in record, "season" in record) == (False, False, False)


def test_a_channel_lists_its_own_and_leave_out_and_sets_mean_what_they_say(told: Told) -> None:
    """`sets` chooses among sets alone; leave_out takes a piece with all that holds it."""
    with_singles(told.shop)
    told.edit("channels/stall.toml", "make =", 'sets = ["RRS-3"]\nleave_out = ["RR-K1"]\nmake =')
    assert told.build() == 0, told.err
    stall = [row["code"] for row in rows(told, "stall/price-list.csv")]
    assert stall == ["RRS-3", "RR-B1", "RR-J1", "RR-J2", "RR-M1", "RR-K2"]
    with (told.shop / "channels/stall.toml").open("a", encoding="utf-8") as file:
        file.write('\n[singles]\nitems = ["RR-M1"]\n')
    assert told.build() == 0, told.err
    assert [row["code"] for row in rows(told, "stall/price-list.csv")] == ["RRS-3", "RR-M1"]
    assert "RR-K1" in {row["Item number"] for row in rows(told, "web/feed.csv")}


def test_lines_for_shops_stay_as_they_are(told: Told) -> None:
    terms = (told.shop / "wholesale.toml").read_text(encoding="utf-8")
    assert '"RR-B1"' in terms
    assert told.build() == 0, told.err
    before = {path: content for path, content in outputs(told.shop).items() if path.startswith("wholesale/")}
    with_singles(told.shop)
    assert told.build() == 0, told.err
    assert {path: c for path, c in outputs(told.shop).items() if path.startswith("wholesale/")} == before


def test_one_that_needs_mending_holds_back_no_set_and_no_line(told: Told) -> None:
    """Never published it is left out; once it was, the joint files of that place stay as they are, and no others."""
    with_singles(told.shop, '\n[singles]\nitems = ["RR-K1", "RR-K2"]\n')
    told.edit("items/RR-K1.md", "{{ cheapest }}", "{{ cheapst }}")
    assert told.build() == 1
    assert "Left out until mended: Reed Mace (RR-K1), published nowhere so far." in told.err + told.out
    codes = [row["Item number"] for row in rows(told, "web/feed.csv")]
    assert (codes[-1], "RR-K1" in codes, "RRS-2" in codes) == ("RR-K2", False, True)
    told.edit("items/RR-K1.md", "{{ cheapst }}", "{{ cheapest }}")
    assert told.build() == 0, told.err
    for place in ("web", "wholesale"):
        assert told.run("record", place, "--at", "2026-11-01T10:00") == 0, told.err
    before = outputs(told.shop)
    told.edit("items/RR-K1.md", "{{ cheapest }}", "{{ cheapst }}")
    told.edit("sets/dusk/story.md", "Salts", "More salts")
    assert told.build() == 1
    assert "Held back on Own web shop until mended: Reed Mace (RR-K1)." in told.err + told.out
    now = outputs(told.shop)
    assert now["web/feed.csv"] == before["web/feed.csv"]
    assert now["web/listings/dusk.html"] != before["web/listings/dusk.html"]
    assert {p: c for p, c in now.items() if p.startswith("wholesale")} == {
        p: c for p, c in before.items() if p.startswith("wholesale")
    }
    assert told.build("--without", "RR-K1") == 0, told.err
    assert "RR-K1" not in {row["Item number"] for row in rows(told, "web/feed.csv")}


def test_a_picture_too_small_for_a_place_leaves_the_piece_out_and_no_set_with_it(told: Told) -> None:
    with_singles(told.shop, '\n[singles]\nitems = ["RR-K1"]\n')
    told.edit("channels/web.toml", "width = 20", "width = 45\nsmallest = 45")
    assert told.build() == 1
    assert "Left out until mended: Reed Mace (RR-K1), published nowhere so far." in told.err + told.out
    codes = {row["Item number"] for row in rows(told, "web/feed.csv")}
    assert ("RR-K1" in codes, "RRS-2" in codes) == (False, True)


def test_changes_name_what_moved_and_singles_that_come(told: Told) -> None:
    assert told.build() == 0, told.err
    assert told.run("record", "web", "--at", "2026-11-01T10:00") == 0, told.err
    with_singles(told.shop, '\n[singles]\nitems = ["RR-K1"]\n')
    told.run("changes", "web")
    assert "singles" in told.out, told.out
    assert "nothing on record explains it" not in told.out, told.out
    assert told.build() == 0, told.err
    assert told.run("record", "web", "--at", "2026-11-02T10:00") == 0, told.err
    told.edit("items.csv", "7.00,1.60,230", "7.20,1.60,230")
    told.edit("items/RR-K1.md", "Salts", "Good salts")
    told.run("changes", "web")
    assert "RR-K1 7.00 → 7.20 moves 1 set, 1 variant and 1 single piece" in told.out
    assert "0 new, 0 gone, 2 changed, in 1 set and 1 single piece." in told.out
    assert "RR-K1, story written anew (1 single piece)" in told.out
    assert "nothing on record explains it" not in told.out, told.out
    with (told.shop / "channels/web.toml").open("a", encoding="utf-8") as file:
        file.write("\n[singles]\nitems = []\n")
    told.run("changes", "web")
    assert "nothing on record explains it" not in told.out, told.out
    assert "is gone, RR-K1 is gone" not in told.out


def test_show_has_a_piece_by_its_code(told: Told) -> None:
    with_singles(told.shop)
    assert told.run("show", "RR-K1") == 0, told.err
    assert "RR-K1" in told.out
    assert "RR-K1 Reed Mace bath salts · no box · 25 can be made" in told.out


def test_rename_understands_the_codes_of_singles(told: Told) -> None:
    with_singles(told.shop, '\n[singles]\nitems = ["RR-K1"]\n')
    assert told.run("rename", "RR-K1", "RR-K9", "--apply") == 0, told.err
    assert 'items = ["RR-K9"]' in (told.shop / "shop.toml").read_text(encoding="utf-8")
    assert told.build() == 0, told.err
    last = rows(told, "web/feed.csv")[-1]
    assert (last["Item number"], last["Image"]) == ("RR-K9", "https://rr.example/p/rr-k9-grid.jpg")


def test_a_workbook_of_items_and_a_feed_in_json_take_them_too(told: Told) -> None:
    with_singles(told.shop, '\n[singles]\nitems = ["RR-K1"]\n')
    (told.shop / "channels/fair.toml").write_text(
        'name = "Fair"\nmake = ["feed"]\nfeed = "json"\nrows = "variant"\n', encoding="utf-8"
    )
    assert told.build() == 0, told.err
    feed = json.load(io.StringIO((told.shop / "out/fair/feed.json").read_text(encoding="utf-8")))
    assert "RR-K1" in json.dumps(feed)


def test_a_row_that_cannot_be_read_holds_back_the_piece_where_it_was_published(told: Told) -> None:
    """Also where only a draft holds the item beside: what is listed alone is no draft."""
    with_singles(told.shop, '\n[singles]\nitems = ["RR-K2"]\n')
    told.edit("sets/dusk/set.toml", "season =", 'status = "draft"\nseason =')
    assert told.build() == 0, told.err
    assert told.run("record", "web", "--at", "2026-11-01T10:00") == 0, told.err
    before = outputs(told.shop)
    told.edit("items.csv", "7.50,1.60,235", "seven,1.60,235")
    assert told.build() == 1
    assert "Held back on Own web shop until mended: RR-K2." in told.err + told.out
    assert outputs(told.shop)["web/feed.csv"] == before["web/feed.csv"]
    problems = [problem for problem in problems_of(told.shop, date.fromisoformat(DAY)) if problem.code == "bad-value"]
    assert [problem.draft for problem in problems] == [False]
