"""Sets and pictures as whole files: made, copied, dropped in, taken away, and all of it taken back."""

import datetime
import io
import tomllib
from pathlib import Path

import pytest
from PIL import Image

from listkit.desk.changes import Came, past, put_files, see, take_back
from listkit.desk.edits import Role, Target
from listkit.desk.set_files import add_photos, new_set, take_photo
from listkit.pipeline import open_shop
from tests.desk.test_changes import DAWN, HOW, said, shop_files
from tests.shops import clean_shop, small_demo

DAY = datetime.date(2027, 3, 1)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return clean_shop(tmp_path / "shop")


def picture(kind: str = "JPEG") -> bytes:
    target = io.BytesIO()
    Image.new("RGB", (120, 90), "#7a5c1e").save(target, kind)
    return target.getvalue()


def test_a_new_set_is_one_change_that_can_be_taken_back(shop: Path) -> None:
    before = shop_files(shop)
    outcome, code = new_set(shop, "Dusk & Dew", DAY, HOW)
    assert (outcome.came, code) == (Came.DONE, "RRS-2")
    assert sorted(path.name for path in (shop / "sets/dusk-dew").iterdir()) == [
        "photos", "set.toml", "shots.md", "story.md"
    ]  # fmt: skip
    assert [folder.code for folder in open_shop(shop).shop.folders] == ["RRS-1", "RRS-2"]
    again, _ = new_set(shop, "Dusk, Dew", DAY, HOW)
    assert said(again)[0][0] == ("name",)
    assert said(new_set(shop, "!!!", DAY, HOW)[0])[0][0] == ("name",)
    take_back(shop, outcome.number, HOW)
    assert shop_files(shop) == before


def test_a_copy_has_what_is_in_the_set_and_none_of_its_codes_pictures_and_prices(tmp_path: Path) -> None:
    shop = small_demo(tmp_path / "demo")
    before = shop_files(shop)
    outcome, code = new_set(shop, "Second Nectar", DAY, HOW, "OHS-1")
    assert (outcome.came, code) == (Came.DONE, "OHS-10")
    old = tomllib.loads((shop / "sets/first-nectar/set.toml").read_text(encoding="utf-8"))
    new = tomllib.loads((shop / "sets/second-nectar/set.toml").read_text(encoding="utf-8"))
    for key in ("variant", "photos"):
        del old[key]
    assert new == {**old, "code": "OHS-10", "name": "Second Nectar", "status": "draft"}
    stories = [(shop / "sets" / folder / "story.fr.md").read_bytes() for folder in ("first-nectar", "second-nectar")]
    assert stories[0] == stories[1]
    assert list((shop / "sets/second-nectar/photos").iterdir()) == []
    assert [fold.draft for fold in open_shop(shop).shop.folders if fold.code == "OHS-10"] == [True]
    assert said(new_set(shop, "second nectar", DAY, HOW, "OHS-1")[0])[0][1] == (
        'a set called "second nectar" is there already, sets/second-nectar.'
    )
    assert said(new_set(shop, "Third", DAY, HOW, "OHS-77")[0])[0][1] == 'no set "OHS-77" can be read.'
    take_back(shop, outcome.number, HOW)
    assert shop_files(shop) == before


def test_pictures_are_named_here_and_what_is_none_is_said_beside_the_others(shop: Path) -> None:
    sent = [
        ("../../Été Straße.JPG", picture()), ("C:\\fakepath\\detail.png", picture("PNG")), ("x.jpg", b"no picture"),
        ("..", picture("WEBP")), ("detail.jpeg", picture("PNG")), ("a.jpg", picture()[:200]), ("empty.jpg", b""),
    ]  # fmt: skip
    before = shop_files(shop)
    outcome, names = add_photos(shop, "RRS-1", sent, HOW)
    assert outcome.came is Came.DONE
    assert names == ["ete-strasse.jpg", "detail-2.png", "photo.webp", "detail-3.png"]
    assert [each.key for each in outcome.wrong] == [("photos", 2), ("photos", 5), ("photos", 6)]
    assert (shop / "sets/dawn/photos/ete-strasse.jpg").read_bytes() == picture()
    take_back(shop, outcome.number, HOW)
    assert shop_files(shop) == before
    assert add_photos(shop, "RRS-1", [("x", b"no")], HOW)[0].came is Came.REFUSED
    assert add_photos(shop, "../dawn", sent, HOW)[0].came is Came.REFUSED
    assert len(past(shop)) == 2


def test_a_picture_is_taken_away_with_all_that_is_said_of_it(shop: Path) -> None:
    before, shown = shop_files(shop), see(shop, DAWN).digest
    assert take_photo(shop, "RRS-1", "open-box.png", "0", HOW).came is Came.MOVED
    outcome = take_photo(shop, "RRS-1", "open-box.png", shown, HOW)
    assert outcome.came is Came.DONE
    document = tomllib.loads((shop / "sets/dawn/set.toml").read_text(encoding="utf-8"))
    assert "photos" not in document
    assert document["variant"] == [{"options": {"Jar": "RR-J2"}}]
    assert not (shop / "sets/dawn/photos/open-box.png").exists()
    assert take_photo(shop, "RRS-1", "detail.png", outcome.digests[DAWN], HOW).came is Came.DONE
    for name in ("detail.png", "../set.toml", "../../shop.toml", ""):
        assert take_photo(shop, "RRS-1", name, see(shop, DAWN).digest, HOW).came is Came.REFUSED
    for each in reversed(past(shop)):
        take_back(shop, each.number, HOW)
    assert shop_files(shop) == before


def test_what_came_there_meanwhile_is_not_written_over(shop: Path) -> None:
    outcome = put_files(shop, {"sets/dawn/photos/detail.png": picture()}, HOW, fresh=True)
    assert outcome.came is Came.MOVED
    assert see(shop, Target(Role.SET, "RRS-1")).path == "sets/dawn/set.toml"
