"""Single pieces are read from [singles]: which items, their pictures and stories by code, and what belongs to none."""

import io
from collections.abc import Mapping
from pathlib import Path

from PIL import Image

from listkit.model.shop import Shop
from listkit.problem import Level, Problem
from listkit.read.shop import read_shop
from tests.shops import clean_shop

SHOP = '\n[singles]\nitems = ["RR-B1", "RR-J1"]\n'
ALL = "\n[singles]\n"
BAR = """code = "RRS-2"
name = "The Weir Bar"
box = "none"

[[contents]]
slot = "Bar"
choose = ["RR-B1", "RR-J1"]
"""


def picture(shade: int = 90) -> bytes:
    """A small picture of one grey."""
    target = io.BytesIO()
    Image.new("RGB", (40, 30), (shade, shade, shade)).save(target, "PNG")
    return target.getvalue()


def reads(folder: Path, files: Mapping[str, str | bytes], shop: str = SHOP) -> tuple[Shop, list[Problem]]:
    clean = clean_shop(folder)
    stated = (clean / "shop.toml").read_text(encoding="utf-8")
    return read_shop(clean_shop(folder, {"shop.toml": stated + shop, **files}))


def told(problems: list[Problem]) -> list[tuple[str, str]]:
    return [(problem.place.file, problem.code) for problem in problems]


def test_without_singles_nothing_of_theirs_is_looked_at(tmp_path: Path) -> None:
    shop, problems = reads(tmp_path, {"photos/items/strange.jpg": b"no picture", "items/strange.md": "?"}, shop="")
    assert (shop.singles, problems) == ((), [])


def test_items_are_listed_alone_by_their_codes_or_all_that_are_on_sale(tmp_path: Path) -> None:
    shop, problems = reads(tmp_path / "some", {})
    assert ([single.code for single in shop.singles], problems) == (["RR-B1", "RR-J1"], [])
    items = (tmp_path / "some" / "items.csv").read_text(encoding="utf-8").replace("upright", "upright,status")
    closed = "".join(f"{line},{'closed' if 'RR-J2' in line else ''}\n" for line in items.splitlines()[1:])
    every, _ = reads(tmp_path / "all", {"items.csv": f"{items.splitlines()[0]}\n{closed}"}, shop=ALL)
    assert [single.code for single in every.singles] == ["RR-B1", "RR-J1", "RR-M1"]


def test_a_channel_says_for_itself_what_it_lists_alone(tmp_path: Path) -> None:
    stall = 'name = "Market stall"\nmake = ["price list"]\n[singles]\nitems = ["RR-M1"]\n'
    shop, problems = reads(tmp_path, {"channels/stall.toml": stall}, shop="")
    assert ([single.code for single in shop.singles], problems) == (["RR-M1"], [])
    none, _ = reads(tmp_path, {"channels/stall.toml": stall.replace('["RR-M1"]', "[]")}, shop="")
    assert none.singles == ()


def test_pictures_are_those_of_the_code_and_their_number_never_of_a_code_that_begins_alike(tmp_path: Path) -> None:
    items = "code,name,form,retail,cost,weight (g),size (mm)\n" + "".join(
        f"{code},{code} bar,bar soap,6.50,1.40,104,80 x 55 x 25\n" for code in ("RR-B1", "RR-B10", "RR-J1", "RR-J2")
    )
    names = ("RR-B1.png", "RR-B1-2.png", "RR-B1-10.png", "rr-b10.png", "RR-B10-2.png")
    photos = {f"photos/items/{name}": picture(20 * at) for at, name in enumerate(names, 3)}
    shop, problems = reads(tmp_path, {"items.csv": items, **photos}, shop=ALL)
    assert problems == []
    assert {single.code: [photo.name for photo in single.photos] for single in shop.singles if single.photos} == {
        "RR-B1": ["RR-B1.png", "RR-B1-2.png", "RR-B1-10.png"],
        "RR-B10": ["rr-b10.png", "RR-B10-2.png"],
    }


def test_a_picture_with_a_number_is_of_the_item_whose_code_ends_so(tmp_path: Path) -> None:
    items = "code,name,form,retail,cost,weight (g),size (mm)\n" + "".join(
        f"{code},{code} bar,bar soap,6.50,1.40,104,80 x 55 x 25\n" for code in ("RR-B1", "RR-B1-2", "RR-J1", "RR-J2")
    )
    shop, _ = reads(tmp_path, {"items.csv": items, "photos/items/RR-B1-2.png": picture()}, shop=ALL)
    assert {single.code: len(single.photos) for single in shop.singles} == {
        "RR-B1": 0, "RR-B1-2": 1, "RR-J1": 0, "RR-J2": 0,
    }  # fmt: skip


def test_pictures_and_stories_under_an_old_code_are_found(tmp_path: Path) -> None:
    items = (clean_shop(tmp_path / "clean") / "items.csv").read_text(encoding="utf-8").splitlines()
    rows = [f"{line},{'RR-S1' if 'RR-B1' in line else ''}\n" for line in items[1:]]
    files: dict[str, str | bytes] = {
        "items.csv": f"{items[0]},old codes\n{''.join(rows)}",
        "photos/items/RR-S1.png": picture(),
        "items/RR-S1.md": "Cut by hand.\n",
    }
    shop, problems = reads(tmp_path, files)
    assert [(len(single.photos), len(single.stories)) for single in shop.singles] == [(1, 1), (0, 0)]
    assert problems == []


def test_a_story_is_a_column_of_that_name_or_a_file_and_notes_are_none(tmp_path: Path) -> None:
    items = (clean_shop(tmp_path / "clean") / "items.csv").read_text(encoding="utf-8").splitlines()
    rows = [f"{line},{'Cut by hand.' if 'RR-B1' in line else ''},ask Ann\n" for line in items[1:]]
    files = {
        "items.csv": f"{items[0]},story,notes\n{''.join(rows)}",
        "items/RR-J1.md": "Whipped at night.\n",
        "items/RR-J1.fr.md": "Battu la nuit.\n",
    }
    shop, problems = reads(tmp_path, files)
    assert problems == []
    stories = {
        single.code: [(story.language, story.text.strip()) for story in single.stories] for single in shop.singles
    }
    assert stories == {
        "RR-B1": [("", "Cut by hand.")],
        "RR-J1": [("", "Whipped at night."), ("fr", "Battu la nuit.")],
    }  # fmt: skip


def test_a_story_in_both_places_is_told_at_the_file(tmp_path: Path) -> None:
    items = (clean_shop(tmp_path / "clean") / "items.csv").read_text(encoding="utf-8").splitlines()
    rows = [f"{line},Cut by hand.\n" for line in items[1:]]
    files = {"items.csv": f"{items[0]},story\n{''.join(rows)}", "items/RR-B1.md": "Cut at noon.\n"}
    _, problems = reads(tmp_path, files)
    assert told(problems) == [("items/RR-B1.md", "code-twice")]


def test_what_belongs_to_no_item_is_told_and_stops_nothing(tmp_path: Path) -> None:
    files: dict[str, str | bytes] = {
        "photos/items/RR-B7-2.png": picture(),
        "items/RR-Q.md": "?\n",
        "items/RR-Q.fr.md": "?\n",
    }
    _, problems = reads(tmp_path, files)
    assert told(problems) == [
        ("items/RR-Q.fr.md", "single-stray"),
        ("items/RR-Q.md", "single-stray"),
        ("photos/items/RR-B7-2.png", "single-stray"),
    ]
    assert {problem.level for problem in problems} == {Level.LOOK_AT}


def test_a_picture_of_an_item_that_is_not_listed_alone_is_left_alone(tmp_path: Path) -> None:
    _, problems = reads(tmp_path, {"photos/items/RR-M1.png": picture()})
    assert problems == []


def test_a_file_that_is_no_picture_is_told(tmp_path: Path) -> None:
    _, problems = reads(tmp_path, {"photos/items/RR-B1.jpg": b"no picture"})
    assert told(problems) == [("photos/items/RR-B1.jpg", "not-a-picture")]


def test_a_set_that_is_the_piece_alone_or_as_an_option_wins_and_is_told_once(tmp_path: Path) -> None:
    shop, problems = reads(tmp_path, {"sets/bar/set.toml": BAR}, shop=ALL)
    assert [single.code for single in shop.singles] == ["RR-J2", "RR-M1"]
    assert told(problems) == [("sets/bar/set.toml", "single-is-set")]
    assert "RR-B1 and RR-J1 are The Weir Bar (RRS-2) already." in problems[0].message


def test_a_draft_a_closed_set_and_a_set_of_two_do_not_win(tmp_path: Path) -> None:
    for at, changed in enumerate(
        (
            BAR.replace("box =", 'status = "draft"\nbox ='),
            BAR.replace("box =", 'status = "closed"\nbox ='),
            BAR.replace('slot = "Bar"', 'slot = "Bar"\nquantity = 2'),
            BAR.replace('box = "none"', 'box = "S"'),
        )
    ):
        shop, problems = reads(tmp_path / str(at), {"sets/bar/set.toml": changed})
        assert ([single.code for single in shop.singles], problems) == (["RR-B1", "RR-J1"], [])


def test_an_unknown_item_is_told_where_it_is_named(tmp_path: Path) -> None:
    _, problems = reads(tmp_path, {}, shop='\n[singles]\nitems = ["RR-B1", "RR-B7"]\n')
    assert [(problem.place.file, problem.place.key, problem.code) for problem in problems] == [
        ("shop.toml", ("singles", "items", 1), "unknown-code")
    ]


def test_a_single_never_has_the_name_of_a_set_for_its_pages(tmp_path: Path) -> None:
    clean = clean_shop(tmp_path)
    (clean / "sets" / "dawn").rename(clean / "sets" / "rr-b1")
    text = (clean / "shop.toml").read_text(encoding="utf-8")
    (clean / "shop.toml").write_text(text + SHOP, encoding="utf-8")
    assert [single.stem for single in read_shop(clean)[0].singles] == ["rr-b1-alone", "rr-j1"]


def test_links_are_told_and_not_followed(tmp_path: Path) -> None:
    clean = clean_shop(tmp_path / "shop")
    outside = tmp_path / "elsewhere"
    outside.mkdir()
    (outside / "RR-B1.png").write_bytes(picture())
    (clean / "photos").mkdir()
    (clean / "photos" / "items").symlink_to(outside)
    text = (clean / "shop.toml").read_text(encoding="utf-8")
    (clean / "shop.toml").write_text(text + SHOP, encoding="utf-8")
    shop, problems = read_shop(clean)
    assert [single.photos for single in shop.singles] == [(), ()]
    assert told(problems) == [("photos/items", "path-outside")]
