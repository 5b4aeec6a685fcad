"""The files of a shop folder are found by what they are for; nothing leads out of it."""

import os
import re
import socket
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit import bounds
from listkit.cli import main
from listkit.read.folder import find_files, items_file, named_file, stays_inside
from listkit.read.shop import read_shop
from listkit.read.source import Fault, read_bytes
from tests.ledger.test_opening import nobody
from tests.shops import clean_shop, lines


def told(root: Path) -> list[str]:
    return lines(find_files(root)[1])


def test_each_file_is_found_by_what_it_is_for(tmp_path: Path) -> None:
    more = {
        "sets/dawn/story.fr.md": "",
        "photos/spring.jpg": "",
        "templates/listing/html.html": "",
        "sets/ash/set.toml": "",
        "sets/dawn/notes.txt": "",
        "channels/readme.txt": "",
        "out/feed.csv": "",
    }
    files, problems = find_files(clean_shop(tmp_path, more))
    assert problems == []
    assert (files.shop, files.items, files.packaging) == ("shop.toml", ("items.csv",), "packaging.toml")
    ash, dawn = files.sets
    assert (ash.folder, ash.file, ash.stories, ash.photos) == ("ash", "sets/ash/set.toml", (), ())
    assert dawn.stories == (("sets/dawn/story.fr.md", "fr"), ("sets/dawn/story.md", ""))
    assert dawn.photos == ("sets/dawn/photos/detail.png", "sets/dawn/photos/open-box.png")
    assert (files.channels, files.season_photos) == (("channels/stall.toml",), ("photos/spring.jpg",))
    assert (files.wholesale, files.stockists) == ("wholesale.toml", "stockists.csv")
    assert files.templates == ("templates/listing/html.html",)


def test_hidden_files_and_litter_are_passed_over_in_silence(tmp_path: Path) -> None:
    litter = (".DS_Store", "Thumbs.db", "desktop.ini", "~$styled.jpg", "a.tmp", ".hidden.png", "styled.jpg~")
    changes = {f"sets/dawn/photos/{name}": "x" for name in litter} | {"channels/.x.toml": "x", "sets/.git/x": "x"}
    clean_shop(tmp_path, changes)
    assert told(tmp_path) == []
    assert len(find_files(tmp_path)[0].sets[0].photos) == 2
    assert find_files(tmp_path)[0].channels == ("channels/stall.toml",)


def test_of_a_set_that_may_not_be_looked_into_nobody_says_that_its_file_is_missing() -> None:
    with tempfile.TemporaryDirectory() as folder:  # which another user may reach
        shop = clean_shop(Path(folder) / "shop")
        Path(folder).chmod(0o755)
        (shop / "sets/dawn").chmod(0)
        with nobody():
            assert told(shop) == [
                "Must fix · sets/dawn: it cannot be opened as a folder: Permission denied. "
                "Check its permissions.  file-missing"
            ]
        (shop / "sets/dawn").chmod(0o755)


def test_thousands_of_folders_without_a_set_take_no_time(tmp_path: Path) -> None:
    for number in range(3_000):
        (clean_shop(tmp_path) if not number else tmp_path).joinpath(f"sets/{number}").mkdir()
    begun = time.process_time()
    assert len(told(tmp_path)) == 3_000
    assert time.process_time() - begun < 2


def test_what_is_missing_is_told_with_the_file_that_is_nearly_it(tmp_path: Path) -> None:
    (clean_shop(tmp_path) / "shop.toml").rename(tmp_path / "Shop.toml")
    (tmp_path / "sets/dawn/set.toml").rename(tmp_path / "sets/dawn/set.tmol")
    (tmp_path / "sets/empty").mkdir()
    assert told(tmp_path) == [
        'Must fix · shop.toml: it is not there. Rename "Shop.toml" to "shop.toml".  file-missing',
        'Must fix · sets/dawn/set.toml: it is not there. Rename "set.tmol" to "set.toml".  file-missing',
        "Must fix · sets/empty/set.toml: it is not there. Write one, or take the folder away.  file-missing",
    ]


def test_links_are_told_and_never_followed(tmp_path: Path) -> None:
    outside, root = tmp_path / "outside", clean_shop(tmp_path / "shop")
    clean_shop(outside)
    (root / "sets/other").symlink_to(outside / "sets/dawn")
    (root / "sets/dawn/photos/far.png").symlink_to(outside / "sets/dawn/photos/detail.png")
    (root / "photos").symlink_to(outside / "sets/dawn/photos")
    (root / "templates").mkdir()
    (root / "templates/more").symlink_to(outside)
    files, problems = find_files(root)
    assert sorted(problem.place.file for problem in problems if problem.code == "path-outside") == [
        "photos", "sets/dawn/photos/far.png", "sets/other", "templates/more",
    ]  # fmt: skip
    assert (files.season_photos, files.templates, len(files.sets)) == ((), (), 1)
    assert len(files.sets[0].photos) == 2


def test_a_shop_folder_may_itself_be_reached_by_a_link(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(clean_shop(tmp_path / "shop"))
    assert told(tmp_path / "link") == []


def _linked(file: Path) -> None:
    file.rename(file.with_name(".elsewhere"))
    file.symlink_to(".elsewhere")


def _socket(file: Path) -> None:
    with pytest.MonkeyPatch.context() as here, socket.socket(socket.AF_UNIX) as bound:
        file.unlink()
        here.chdir(file.parent)  # a socket's name may have a hundred letters
        bound.bind(file.name)


def _pipe(file: Path) -> None:
    file.unlink()
    os.mkfifo(file)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("file", ["shop.toml", "items.csv", "packaging.toml", "materials.csv", "channels/stall.toml"])
@pytest.mark.parametrize(
    ("put", "said"),
    [
        (_linked, "it is a link and is not followed."),
        (lambda file: (file.unlink(), file.symlink_to("nowhere")), "it is a link and is not followed."),
        (lambda file: (file.unlink(), file.symlink_to(file.name)), "it is a link and is not followed."),
        (lambda file: (file.unlink(), file.mkdir()), "it is a folder."),
        (_pipe, "it is no plain file."),
        (_socket, "it is no plain file."),
    ],
    ids=["link", "dangling link", "link to itself", "folder", "pipe", "socket"],
)
def test_what_is_in_a_files_place_is_told_once_and_nobody_says_that_the_file_is_missing(
    tmp_path: Path, file: str, put: Callable[[Path], object], said: str
) -> None:
    recipes = "item,material,amount\nRR-B1,olive oil,100 g\n"
    materials = "material,unit,price\nolive oil,1 kg,10.00\n"
    wish = '\n[allotment]\nfirst = ["stall"]\n'
    shop = clean_shop(tmp_path, {"recipes.csv": recipes, "materials.csv": materials})
    with (shop / "shop.toml").open("a", encoding="utf-8") as settings:
        settings.write(wish)
    assert [line for line in lines(read_shop(shop)[1]) if line.startswith("Must fix")] == []
    put(shop / file)
    (line,) = (line for line in lines(read_shop(shop)[1]) if line.startswith("Must fix"))
    assert line.startswith(f"Must fix · {file}: {said}")


def test_a_folder_in_a_files_place_keeps_no_file_open(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").mkdir()
    before = len(os.listdir("/dev/fd")) if os.path.isdir("/dev/fd") else 0
    for _ in range(20):
        read_bytes(tmp_path, "shop.toml")
    assert (len(os.listdir("/dev/fd")) if before else 0) == before


def test_a_file_with_the_name_of_a_folder_is_told(tmp_path: Path) -> None:
    clean_shop(tmp_path, {"languages": "fr"})
    assert lines(find_files(tmp_path)[1]) == [
        "Must fix · languages: it is not a folder. Put a folder in its place.  file-missing"
    ]


def test_names_that_cannot_be_shown_are_told_and_their_files_left_alone(tmp_path: Path) -> None:
    clean_shop(tmp_path)
    for name in (b"bad\xff.png", b"two\nlines.png", b"esc\x1b[31m.png"):
        with open(os.fsencode(tmp_path / "sets/dawn/photos") + b"/" + name, "wb"):
            pass
    files, problems = find_files(tmp_path)
    assert len(files.sets[0].photos) == 2
    assert [problem.code for problem in problems] == ["encoding"] * 3
    assert all(str(problem).isprintable() for problem in problems)


def test_the_items_are_the_stated_file_or_the_only_one(tmp_path: Path) -> None:
    clean_shop(tmp_path, {"items.csv": None, "stock list.xlsx": "", "items.xlsx": "", "items.ods": ""})
    files, _ = find_files(tmp_path)
    assert items_file(tmp_path, files, "stock list.xlsx") == ("stock list.xlsx", [])
    file, problems = items_file(tmp_path, files, "")
    assert file == "items.xlsx"
    assert lines(problems) == [
        "Must fix · items.ods: items.xlsx and items.ods are both there. Take one away, or name the true one in "
        'shop.toml: [items] file = "items.xlsx".  code-twice'
    ]
    file, problems = items_file(tmp_path, files, "stock list.xls")
    assert file == ""
    assert lines(problems) == [
        'Must fix · shop.toml: file: there is no file "stock list.xls". Write "stock list.xlsx".  file-missing'
    ]


def test_a_table_of_the_old_kind_or_nearly_called_items_is_named(tmp_path: Path) -> None:
    for name, hint in (
        ("items.xls", 'Save "items.xls" again as .xlsx.'),
        ("item.csv", 'Rename "item.csv" to "items.csv".'),
    ):
        root = clean_shop(tmp_path / name, {"items.csv": None, name: ""})
        _, problems = items_file(root, find_files(root)[0], "")
        assert lines(problems) == [f"Must fix · items.csv: there is no table of items. {hint}  file-missing"]


def test_a_name_is_found_whatever_form_its_accents_have(tmp_path: Path) -> None:
    """File systems give é as one sign or as e and an accent (Unicode Standard Annex 15)."""
    (tmp_path / "cafe\u0301").mkdir()
    (tmp_path / "cafe\u0301" / "logo.png").write_text("")
    assert named_file(tmp_path, "caf\u00e9/logo.png") == "cafe\u0301/logo.png"


@pytest.mark.parametrize(
    "name",
    ["../x", "/etc/passwd", "a/../../x", "C:/x", "c:x", "a\\b", "\\\\host\\x", "", "./x", "a//b", "nul", "COM1.csv",
     "photos/aux.png", "a\0b", "a\nb", ".."],
)  # fmt: skip
def test_names_that_leave_the_folder_on_any_system_are_refused(tmp_path: Path, name: str) -> None:
    found = named_file(tmp_path, name)
    assert isinstance(found, Fault)
    assert found.code == "path-outside"


def test_a_link_on_the_way_to_a_named_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "real/x.png").write_text("")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    found = named_file(tmp_path, "link/x.png")
    assert isinstance(found, Fault)
    assert (found.code, found.message) == ("path-outside", '"link/x.png" is a link.')
    folder = named_file(tmp_path, "real")
    assert isinstance(folder, Fault)
    assert folder.code == "file-missing"


# No part of these is "." or "..", or a device of Windows: each begins with a letter that none begins with.
plain_parts = st.text(st.characters(exclude_categories=["Cc", "Cs"], exclude_characters="/\\:"), max_size=8).map(
    "x{}".format
)
hostile_parts = st.sampled_from(["", ".", "..", "a\\b", "\\..", "c:", "c:x", "a\0b", "a\nb", "nul", "Com1.txt", "LPT9"])


@given(st.lists(plain_parts, min_size=1, max_size=4))
def test_a_name_of_plain_parts_stays_inside(parts: list[str]) -> None:
    name = "/".join(parts)
    assert stays_inside(name)
    assert Path("/shop") in Path(os.path.normpath(Path("/shop") / name)).parents


@given(st.lists(plain_parts, max_size=3), hostile_parts, st.integers(0, 3))
def test_one_part_that_means_something_else_somewhere_is_enough(parts: list[str], hostile: str, at: int) -> None:
    assert not stays_inside("/".join([*parts[:at], hostile, *parts[at:]]))


def test_toml_and_stories_are_bounded_over_the_whole_shop_and_nothing_of_it_is_read_then(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    clean_shop(tmp_path)
    files = find_files(tmp_path)[0]
    values = sum(len(re.findall(r"[=,\[{]", (tmp_path / file).read_text(encoding="utf-8"))) for file in files.toml)
    monkeypatch.setattr(bounds, "TOML_TOGETHER", values)
    assert read_shop(tmp_path)[0].sets
    size = sum((tmp_path / file).stat().st_size for file in files.toml)
    with monkeypatch.context() as smaller:
        smaller.setattr(bounds, "TOML_WHOLE", size)
        assert read_shop(tmp_path)[0].sets
        smaller.setattr(bounds, "TOML_WHOLE", size - 1)
        shop, problems = read_shop(tmp_path)
        assert (shop.sets, [problem.place.file for problem in problems]) == ((), ["the shop folder"])
        assert "MB together" in problems[0].message
    with monkeypatch.context() as smaller:
        smaller.setattr(bounds, "STORIES_WHOLE", (tmp_path / "sets/dawn/story.md").stat().st_size)
        assert read_shop(tmp_path)[0].sets
        (tmp_path / "items").mkdir()
        (tmp_path / "items/RR-B1.md").write_text("A bar.\n")
        shop, problems = read_shop(tmp_path)
        assert (shop.sets, [problem.place.file for problem in problems]) == ((), ["the shop folder"])
        assert "its stories are" in problems[0].message
    with (tmp_path / "shop.toml").open("a") as shop_file:
        shop_file.write("\nx = 1\n")
    shop, problems = read_shop(tmp_path)
    assert not shop.sets
    assert shop.left_out.settings  # so that no build takes away what the last one made
    assert [problem.place.file for problem in problems] == ["the shop folder"]
    assert f"hold {values + 1:,} values together, and at most {values:,} are read" in problems[0].message
    for command in ("check", "build", "plan", "stock", "add --propose", "rename RRS-1 RRS-9", "record web_shop"):
        assert main([*command.split(), "--shop", str(tmp_path)]) != 0, command
        said = capsys.readouterr()
        assert "values together" in said.out + said.err, command
    assert not (tmp_path / "out").exists()


def test_the_values_of_three_hundred_sets_are_far_below_the_bound() -> None:
    demo = Path(__file__).parents[2] / "demo_shop"
    sets = sorted(demo.glob("sets/*/set.toml"))
    largest = max(len(re.findall(r"[=,\[{]", file.read_text(encoding="utf-8"))) for file in sets)
    assert 300 * largest < bounds.TOML_TOGETHER / 4
