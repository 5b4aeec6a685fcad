"""`listkit place`: a place of each kind is sound, builds at once, and holds no figure that is somebody else's."""

import csv
import re
import tomllib
from pathlib import Path

import pytest

from listkit.actions.learn import PLACE_KINDS
from listkit.cli import main
from tests.shops import clean_shop


def place(shop: Path, *words: str) -> int:
    return main(["place", "--shop", str(shop), *words])


@pytest.mark.parametrize("kind", PLACE_KINDS)
def test_a_new_place_is_sound_and_builds_at_once(kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = clean_shop(tmp_path / "shop")
    assert place(shop, 'Place "X" & Sons', "--kind", kind) == 0
    assert main(["check", "--shop", str(shop), "--today", "2027-03-01"]) == 0, capsys.readouterr().out
    assert main(["build", "--shop", str(shop), "--today", "2027-03-01"]) == 0
    made = shop / "out/place_x_sons"
    document = tomllib.loads((shop / "channels/place_x_sons.toml").read_text(encoding="utf-8"))
    assert document["name"] == 'Place "X" & Sons'
    assert (made / f"feed.{document['feed']}").is_file()
    if document["feed"] == "csv":
        rows = list(csv.DictReader((made / "feed.csv").read_text(encoding="utf-8").splitlines()))
        assert [row["Code"] for row in rows] == ["RRS-1-J1", "RRS-1-J2"]


@pytest.mark.parametrize("kind", PLACE_KINDS)
def test_it_states_nobodys_limits_and_asks_for_the_owners_own_fee(
    kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    place(shop, "Fair", "--kind", kind)
    text = (shop / "channels/fair.toml").read_text(encoding="utf-8")
    document = tomllib.loads(text)
    assert not document.keys() & {"limits", "fixed_fee", "minimum_fee"}
    assert document.get("fee", "0 %") == "0 %"
    main(["check", "--shop", str(shop), "--today", "2027-03-01"])
    assert ("Fair is said to keep nothing of a price." in capsys.readouterr().out) == ("fee" in document)
    assert ("fee" in document) == (kind != "bookkeeper")
    assert not [line for line in text.splitlines() if line.startswith("#") and re.search(r"= *\"?[1-9]", line)]


def test_what_is_there_is_never_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = clean_shop(tmp_path / "shop")
    before = (shop / "channels/stall.toml").read_bytes()
    assert place(shop, "Stall", "--kind", "stall") == 1
    assert "is there already" in capsys.readouterr().err
    assert (shop / "channels/stall.toml").read_bytes() == before


@pytest.mark.parametrize("name", ["wholesale", "print", "con", "---"])
def test_a_name_that_cannot_be_is_told(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = clean_shop(tmp_path / "shop")
    assert place(shop, "--kind", "stall", "--", name) == 1
    assert "cannot be the name of a channel" in capsys.readouterr().err
    assert sorted(path.name for path in (shop / "channels").iterdir()) == ["stall.toml"]
