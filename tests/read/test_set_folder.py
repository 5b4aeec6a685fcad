"""One set folder is read whole, whatever is wrong with its set.toml."""

from pathlib import Path

from listkit.read.folder import find_files
from listkit.read.parts import SetRead, read_set
from listkit.read.photos import PhotoMemory
from tests.shops import clean_shop, edited, lines


def read(root: Path) -> tuple[SetRead, list[str]]:
    read, problems = read_set(root, find_files(root)[0].sets[0], PhotoMemory(), "GBP")
    return read, lines(problems)


def test_a_set_comes_with_its_stories_and_photos(tmp_path: Path) -> None:
    dawn, told = read(clean_shop(tmp_path))
    assert told == []
    assert dawn.gift_set is not None
    assert (dawn.folder, dawn.code, dawn.gift_set.name) == ("dawn", "RRS-1", "Dawn on the Weir")
    assert [photo.shot for photo in dawn.photos] == ["open box", "detail"]
    assert len(dawn.stories) == 1


def test_a_broken_set_still_tells_its_code_and_what_is_wrong_with_its_photos(tmp_path: Path) -> None:
    changes = edited("sets/dawn/set.toml", 'theme = "', "theme = ") | {"sets/dawn/photos/detail.png": "no picture"}
    dawn, told = read(clean_shop(tmp_path, changes))
    assert (dawn.gift_set, dawn.code) == (None, "RRS-1")
    assert [line.rpartition("  ")[2] for line in told] == ["syntax", "not-a-picture"]


def test_a_folder_without_set_file_has_no_code(tmp_path: Path) -> None:
    dawn, told = read(clean_shop(tmp_path, {"sets/dawn/set.toml": None}))
    assert (dawn.gift_set, dawn.code, told) == (None, "", [])
