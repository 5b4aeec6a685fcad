"""Of a file that cannot be read only that is told: nothing that would be false if it could be.

No source: what follows from a file is ours to say.
"""

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest

from listkit.model.shop import LeftOut
from listkit.pipeline import check_shop
from listkit.problem import Level
from tests.fuzz.rich_shop import make_place

DAY = datetime.date(2026, 11, 25)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_place(tmp_path_factory.mktemp("rich"))


def told(shop: Path) -> set[tuple[str, str, str]]:
    return {(each.place.file, each.code, each.message) for each in check_shop(shop, DAY).problems}


def _folder(file: Path) -> None:
    file.unlink()
    file.mkdir()


@pytest.mark.parametrize("spoil", [_folder, lambda file: file.write_bytes(b"caf\xe9\x81\n")], ids=["folder", "bytes"])
@pytest.mark.parametrize(
    ("file", "untrue"),
    [
        ("shop.toml", {"sheet-older", "email-missing", "online-unnamed", "stock-promised-twice", "wholesale-thin"}),
        ("items.csv", {"stock-promised-twice", "allotment-old"}),
        ("channels/hedgerow_fair.toml", {"allotment-old"}),
        ("channels/stall.toml", {"allotment-old", "stock-promised-twice"}),
        ("sets/first-nectar/set.toml", {"unknown-code", "movement-unknown", "stock-promised-twice"}),
        ("sets/first-nectar/story.md", {"language-missing", "small-print", "pictures-none"}),
        ("sets/first-nectar/story.fr.md", {"language-missing"}),
        ("packaging.toml", {"unknown-code", "movement-unknown", "stock-promised-twice"}),
        ("materials.csv", {"unknown-code"}),
        ("movements.csv", {"stock-promised-twice"}),
        ("allotment.csv", {"allotment-old"}),
        ("ingredients.csv", {"allergens-unknown"}),
    ],
)
def test_nothing_is_told_that_only_follows_from_not_reading_a_file(
    shop: Path, file: str, untrue: set[str], spoil: Callable[[Path], object]
) -> None:
    before, content = told(shop), (shop / file).read_bytes()
    try:
        spoil(shop / file)
        problems = check_shop(shop, DAY).problems
    finally:
        if (shop / file).is_dir():
            (shop / file).rmdir()
        (shop / file).write_bytes(content)
    of_file = [each for each in problems if each.place.file == file and each.level is Level.MUST_FIX]
    assert [each.code for each in of_file] in (["file-missing"], ["encoding"])
    more = [each for each in problems if (each.place.file, each.code, each.message) not in before]
    assert not untrue & {each.code for each in more}, more


def test_the_story_of_a_single_piece_is_its_own_alone() -> None:
    left_out = LeftOut(stories=frozenset({"items/RR-B1.fr.md", "sets/dawn/story.md"}))
    lacking = [(name, single) for name in ("RR-B1", "RR-B", "dawn", "daw") for single in (True, False)]
    assert [each for each in lacking if left_out.lacks_story(each[0], is_single=each[1])] == [
        ("RR-B1", True), ("dawn", False),
    ]  # fmt: skip
