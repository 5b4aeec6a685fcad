"""The folder of a new set."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.edit.new_set import NewSet, Proposal, begun_with, folder_name, make_set
from listkit.model.gift_set import GiftSet
from listkit.problem import FieldError
from listkit.shipped import shipped_templates
from tests.small_shop import item

JARS = (item("J-1", on_hand="3"), item("J-2", name="Line\nbreak"))
PROPOSAL = Proposal((item("B-1", name='Oat "& #'),), "Jar", JARS, "S")


def new(name: str = "First Light", proposal: Proposal | None = PROPOSAL, season: str = "spring") -> NewSet:
    return NewSet(folder_name(name), "SET-1", name, season, ("gift set", 'a "b"'), proposal, ("open box",), boxed=True)


def said(folder: Path, one: NewSet) -> GiftSet:
    make_set(shipped_templates(), folder, one)
    raw = tomllib.loads((folder / "sets" / one.folder / "set.toml").read_text("utf-8"))
    return GiftSet.model_validate(raw, context={"currency": "GBP"})


@pytest.mark.parametrize(
    ("name", "folder"),
    [("First Light", "first-light"), ("Été & Mer", "ete-mer"), ("Süße Träume 2!", "susse-traume-2"), ("夏", "xia")],
)
def test_a_name_becomes_a_plain_folder(name: str, folder: str) -> None:
    assert folder_name(name) == folder


@pytest.mark.parametrize("name", ["", "  ", "!!!", "🎁", "a\nb", "a\0b", "x" * 81, "Con", "aux", "\ud800"])
def test_an_impossible_name_is_refused(name: str) -> None:
    with pytest.raises(FieldError):
        folder_name(name)


def test_the_set_says_what_was_proposed(tmp_path: Path) -> None:
    one = said(tmp_path, new('Say "Light" \\ # 1'))
    assert (one.name, one.code, one.box, one.season) == ('Say "Light" \\ # 1', "SET-1", "S", "spring")
    assert one.item_codes == ("B-1", "J-1", "J-2")
    assert (one.slots[0].slot, one.slots[0].default) == ("Jar", "J-1")
    assert one.keywords == ("gift set", 'a "b"')


def test_without_a_proposal_the_contents_wait_behind_signs(tmp_path: Path) -> None:
    make_set(shipped_templates(), tmp_path, new(proposal=None, season=""))
    text = (tmp_path / "sets" / "first-light" / "set.toml").read_text("utf-8")
    assert "contents" not in tomllib.loads(text)
    opened = text.replace("\n# [[contents]]", "\n[[contents]]").replace("\n# item", "\nitem")
    assert tomllib.loads(opened)["contents"][0] == {"item": "B-1"}


def test_the_shots_are_a_list_to_tick_beside_the_photos(tmp_path: Path) -> None:
    files = make_set(shipped_templates(), tmp_path, new())
    assert files == ("sets/first-light/set.toml", "sets/first-light/story.md", "sets/first-light/shots.md")
    folder = tmp_path / "sets" / "first-light"
    assert list((folder / "photos").iterdir()) == []
    shots = (folder / "shots.md").read_text("utf-8")
    assert "- [ ] open-box.jpg: the open box, a little from the side: the first picture (your shop asks" in shots
    assert "- [ ] contents-j-2.jpg: the same with Line break bar soap\n" in shots


def test_a_folder_that_is_there_is_refused_in_any_case(tmp_path: Path) -> None:
    (tmp_path / "sets" / "First-Light").mkdir(parents=True)
    with pytest.raises(FieldError, match="there already"):
        make_set(shipped_templates(), tmp_path, new())
    assert [path.name for path in (tmp_path / "sets").iterdir()] == ["First-Light"]


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    (tmp_path / "sets").symlink_to(tmp_path / "other")
    with pytest.raises(FieldError, match="is a link"):
        make_set(shipped_templates(), tmp_path, new())


@given(st.text(max_size=90))
def test_any_name_makes_a_folder_or_is_refused(tmp_path_factory: pytest.TempPathFactory, name: str) -> None:
    try:
        one = new(name)
    except FieldError as fault:
        assert fault.message
        return
    assert said(tmp_path_factory.mktemp("any"), one).name == name.strip()


LAST_YEAR = """\
# the best of last winter
code = "OHS-3"
old_codes = ["OHS-03"]
name = "Frost" # what buyers read
season = "winter"
theme = \"\"\"
code = "not this one"
[[photos]] nor these\"\"\"
box = "S"
price = 29
keywords = [
  "winter gift",
]

[carton]
outside = "190 x 150 x 100 mm"
weight = "88 g"

# a bar in every one
[[contents]]
item = "B-1"

[[contents]]
slot = "Jar"
choose = ["J-1", "J-2"]

[[variant]]
options = { Jar = "J-1" }
gtin = "9520000010065"

# taken in the snow
[[photos]]
file = "open-box.jpg"
[[reduction]]
from = 2026-12-14
until = 2026-12-24
by = "15 %"
"""


def test_a_set_is_begun_with_another_and_what_belongs_to_that_alone_is_left_behind() -> None:
    made = begun_with(LAST_YEAR, "OHS-9", "Thaw", "spring")
    old, new_one = tomllib.loads(LAST_YEAR), tomllib.loads(made)
    assert (new_one["code"], new_one["name"], new_one["season"], new_one["status"]) == (
        "OHS-9",
        "Thaw",
        "spring",
        "draft",
    )
    for key in ("theme", "box", "keywords", "carton", "contents"):
        assert new_one[key] == old[key]
    assert not {"old_codes", "price", "variant", "photos", "reduction"} & new_one.keys()
    assert "# the best of last winter\n" in made
    assert "# a bar in every one\n[[contents]]" in made
    assert "in the snow" not in made
    assert tomllib.loads(begun_with(LAST_YEAR.replace("\n", "\r\n"), "OHS-9", "Thaw"))["season"] == "winter"


def test_a_key_in_quotes_and_a_long_remark_are_taken_apart_too() -> None:
    made = begun_with('"co\\u0064e" = "A-1"\nname = "Frost"\n', "A-2", "Thaw")
    assert tomllib.loads(made) == {"code": "A-2", "name": "Thaw", "status": "draft"}
    remark = "#" * 60_000
    assert remark in begun_with(LAST_YEAR.replace('box = "S"', f'box = "S" {remark}'), "A-2", "Thaw")


def test_what_cannot_be_taken_apart_is_refused() -> None:
    with pytest.raises(FieldError, match="cannot be taken apart"):
        begun_with('code = "A-1"\n', "A-2", "Thaw")
    with pytest.raises(FieldError, match="rules of TOML"):
        begun_with("code = ", "A-2", "Thaw")
