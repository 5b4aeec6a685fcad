"""Reading whole folders: every file is tried, all problems show at once, a Shop always comes back."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from listkit.check.rules import CODES
from listkit.read.photos import PhotoMemory
from listkit.read.shop import in_order, read_shop
from tests.shops import CLEAN, DEMO, clean_shop, edited, lines

FILES = sorted(file.relative_to(CLEAN).as_posix() for file in CLEAN.rglob("*") if file.is_file())
EVERYWHERE: dict[str, str | bytes | None] = {
    "shop.toml": 'name = Reed\ncurrency = "GBP"\n',
    "packaging.toml": "[[box]\n",
    "sets/dawn/set.toml": b"\xff",
    "sets/dawn/photos/detail.png": "no picture",
    "sets/dawn/story.md": b"\xff",
    "channels/stall.toml": 'nmae = "x"\n',
    "wholesale.toml": "issued = 7",
    "stockists.csv": "code\nA\n",
    "items.csv": "",
}


def test_the_demo_shop_is_read_without_a_problem_and_its_photos_are_remembered() -> None:
    memory = PhotoMemory()
    shop, problems = read_shop(DEMO, photo_facts=memory)
    assert problems == []
    photos = sum(len(folder.photos) for folder in shop.sets) + len(shop.season_photos)
    assert memory.measured == photos + 1, "and the logo"
    again = PhotoMemory(memory.photos)
    assert read_shop(DEMO, photo_facts=again) == (shop, [])
    assert again.measured == 0


def test_the_clean_shop_is_read_whole(tmp_path: Path) -> None:
    shop, problems = read_shop(clean_shop(tmp_path))
    assert problems == []
    assert (len(shop.items), len(shop.packaging.boxes), len(shop.sets), len(shop.channels)) == (4, 1, 1, 1)
    assert (len(shop.stockists), shop.items_file, shop.root) == (1, "items.csv", tmp_path)
    assert shop.wholesale is not None
    assert "words/en.toml" in dict(shop.templates.texts)


def test_every_file_is_tried_and_all_problems_show_at_once_sorted_by_place(tmp_path: Path) -> None:
    shop, problems = read_shop(clean_shop(tmp_path, EVERYWHERE))
    assert {problem.place.file for problem in problems} == EVERYWHERE.keys()
    assert [problem.place.file for problem in problems] == sorted(problem.place.file for problem in problems)
    assert (shop.items, shop.sets, shop.channels, shop.wholesale, shop.stockists) == ((), (), (), None, ())
    assert (shop.settings.currency, shop.items_file) == ("GBP", "items.csv")


def test_a_folder_that_is_none_is_one_problem(tmp_path: Path) -> None:
    for root, said in ((tmp_path / "gone", "is not there"), (clean_shop(tmp_path) / "items.csv", "is no folder")):
        shop, problems = read_shop(root)
        [line] = lines(problems)
        assert line.startswith('Must fix · the shop folder: "/')
        assert line.endswith(f'" {said}. Name it with --shop DIR.  file-missing')
        assert shop.sets == ()


def test_an_empty_folder_says_what_a_shop_needs(tmp_path: Path) -> None:
    assert lines(read_shop(tmp_path)[1]) == [
        "Must fix · shop.toml: it is not there. Is this a shop folder?  file-missing"
    ]


def test_a_broken_shop_file_makes_no_false_problems_elsewhere(tmp_path: Path) -> None:
    dear = edited("items.csv", "6.50", "£6.505")
    sound = (CLEAN / "shop.toml").read_text(encoding="utf-8")
    for text in ("[[", sound.replace("GBP", "QQQ"), "name = 'x'\nseason = 3\nitems = 3", sound[sound.index("[") :]):
        _, problems = read_shop(clean_shop(tmp_path, {**dear, "shop.toml": text}))
        assert {problem.place.file for problem in problems} == {"shop.toml"}, text
    _, problems = read_shop(clean_shop(tmp_path, {**dear, "shop.toml": None}))
    assert [problem.place.file for problem in problems] == ["shop.toml"]


def test_headings_lost_with_a_broken_shop_file_are_not_told_of_the_table(tmp_path: Path) -> None:
    table = "Ref,Product,retail,cost,weight (g),size (mm)\nA-1,Bar,7,1,1,1 x 1 x 1\n"
    changes: dict[str, str | bytes | None] = {"items.csv": table, "shop.toml": "[items\n", "wholesale.toml": None}
    _, problems = read_shop(clean_shop(tmp_path, changes))
    assert [(problem.place.file, problem.code) for problem in problems] == [("shop.toml", "syntax")]


def test_a_stated_table_that_is_not_there_is_told_where_it_is_stated(tmp_path: Path) -> None:
    root = clean_shop(tmp_path, edited("shop.toml", "[prices]", '[items]\nfile = "item.csv"\n\n[prices]'))
    assert lines(read_shop(root)[1]) == [
        'Must fix · shop.toml, line 8: file: there is no file "item.csv". 1 set is left out with it. '
        'Write "items.csv".  file-missing'
    ]


@pytest.mark.parametrize("name", ["items.xlsx", "items.ods"])
def test_a_picture_renamed_to_a_table_is_told(tmp_path: Path, name: str) -> None:
    picture = (CLEAN / "sets/dawn/photos/detail.png").read_bytes()
    for file in ("items.csv", name):
        told = lines(read_shop(clean_shop(tmp_path / file, {"items.csv": None, file: picture}))[1])
        assert len(told) == 1
        assert told[0].startswith(f"Must fix · {file}")


@st.composite
def changed_files(draw: st.DrawFn) -> dict[str, str | bytes | None]:
    """Return a file of the clean shop with any bytes, or with some of its own bytes changed."""
    name = draw(st.sampled_from(FILES))
    if draw(st.booleans()):
        return {name: draw(st.binary(max_size=300))}
    content = (CLEAN / name).read_bytes()
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(content)))
        end = at + draw(st.integers(0, 12))
        content = content[:at] + draw(st.one_of(st.binary(max_size=6), st.text(max_size=4).map(_bytes))) + content[end:]
    return {name: content}


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "replace")


@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(changed_files())
def test_any_bytes_in_any_file_are_read_or_told_and_never_raise(changes: dict[str, str | bytes | None]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        shop, problems = read_shop(clean_shop(Path(folder), changes))
        assert shop.settings.name
        assert problems == sorted(problems, key=in_order)
        for problem in problems:
            assert problem.code in CODES
            assert (Path(folder) / problem.place.file).resolve().is_relative_to(Path(folder).resolve())
            assert not any(sign in str(problem) for sign in "\n\r\x1b")
            str(problem).encode("utf-8")
