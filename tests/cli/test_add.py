"""`listkit add`: after one picture and two lines the new set builds."""

import csv
import json
from pathlib import Path

import pytest
from PIL import Image

from listkit.cli import main
from listkit.model.gift_set import TO_WRITE
from tests.cli.test_new import HEAD, lines
from tests.shops import demo_without_pictures

TODAY = ("--today", "2027-03-01")
GOODS = (
    ("B-1", "Oat bar", "£6.00", "1.60", "108 g", "80 x 55 x 25 mm"),
    ("B-2", "Hop bar", "£6.00", "1.60", "108 g", "80 x 55 x 25 mm"),
    ("T-1", "Clover tin", "£9.00", "2.40", "90 g", "68 x 68 x 25 mm"),
    ("J-1", "Rose butter", "£14.00", "3.60", "230 g", "72 x 72 x 60 mm"),
    ("J-2", "Mint butter", "£14.00", "3.60", "230 g", "72 x 72 x 60 mm"),
)


@pytest.fixture
def starter(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    main(["new", str(tmp_path / "shop")])
    capsys.readouterr()
    return tmp_path / "shop"


def add(shop: Path, name: str, *more: str) -> int:
    return main(["add", name, "--shop", str(shop), *TODAY, *more])


def check(shop: Path, capsys: pytest.CaptureFixture[str]) -> list[tuple[str, str]]:
    """Return code and file of what must be fixed."""
    capsys.readouterr()
    main(["check", "--shop", str(shop), "--json", *TODAY])
    told = json.loads(capsys.readouterr().out)["problems"]
    return sorted((one["code"], one["file"]) for one in told if one["level"] == "must fix")


def finish(shop: Path, folder: str) -> None:
    """Do what `add` leaves to the owner: two lines and a picture, and the line that makes it a draft taken out."""
    own = shop / "sets" / folder
    text = (own / "set.toml").read_text("utf-8")
    [line] = [line for line in text.splitlines() if line.startswith('status = "draft"')]
    (own / "set.toml").write_text(text.replace(f"{line}\n", ""), "utf-8")
    for file in ("set.toml", "story.md"):
        text = (own / file).read_text("utf-8")
        [line] = [line for line in text.splitlines() if TO_WRITE in line]
        ours = 'theme = "A warm bath when it rains."' if file == "set.toml" else "For wet evenings, for one or two."
        (own / file).write_text(text.replace(line, ours), "utf-8")
    picture = Image.radial_gradient("L").resize((2400, 2000)).convert("RGB")
    picture.save(own / "photos" / "open-box.jpg", quality=85)


def test_two_lines_and_a_picture_are_left_and_check_tells_them_plainly(
    starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert add(starter, "Rainy Evening") == 0
    told = capsys.readouterr().out
    assert "rainy-evening: SET-2, Rainy Evening." in told
    assert "the line with WRITE HERE" in told
    assert check(starter, capsys) == [
        ("shot-missing", "sets/rainy-evening/photos"),
        ("unwritten", "sets/rainy-evening/set.toml"),
        ("unwritten", "sets/rainy-evening/story.md"),
    ]


def test_after_them_it_builds_and_nothing_that_was_explained_comes_out(
    starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    add(starter, "Rainy Evening")
    finish(starter, "rainy-evening")
    assert check(starter, capsys) == []
    assert main(["build", "--shop", str(starter), "--jobs", "1", *TODAY]) == 0
    listing = next((starter / "out").rglob("listings/rainy-evening.*")).read_text("utf-8")
    assert "For wet evenings" in listing
    assert "Oat" in listing
    texts = [path.read_text("utf-8") for path in (starter / "out").rglob("*.*") if path.suffix != ".jpg"]
    assert len(texts) > 3
    for hidden in ("never comes out", "double brackets", "{#", "Tick them off"):
        assert not any(hidden in text for text in texts)


def test_a_shop_around_her_own_sheet_builds_after_add_two_lines_and_a_picture(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "stock.csv").write_bytes(lines((HEAD, *GOODS)))
    shop = tmp_path / "shop"
    assert main(["new", str(shop), "--items", str(tmp_path / "stock.csv")]) == 0
    assert add(shop, "Rainy Evening") == 0
    finish(shop, "rainy-evening")
    assert check(shop, capsys) == []
    assert main(["build", "--shop", str(shop), "--jobs", "1", *TODAY]) == 0
    assert list((shop / "out").rglob("listings/rainy-evening.*"))


def test_a_box_is_proposed_only_where_the_pieces_can_be_laid_in_it(
    starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Box W holds the volumes and each piece, but 147 x 77 mm beside a jar of 72 leave 75 x 77 for a bar of 80."""
    text = (starter / "packaging.toml").read_text("utf-8")
    wide = '[[box]]\ncode = "W"\ninside = "150 x 80 x 66 mm"\nweight = "40 g"\ncost = "0.80"\n\n'
    (starter / "packaging.toml").write_text(wide + text, "utf-8")
    assert add(starter, "Rainy Evening", "--json") == 0
    assert json.loads(capsys.readouterr().out)["box"] == "S"


def test_json_says_what_was_made(starter: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert add(starter, "Rainy Evening", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["folder"] == "sets/rainy-evening"
    assert (told["items"], told["slot"], told["options"], told["box"]) == (["B-1"], "Jar", ["J-1", "J-2"], "S")


def test_a_shop_without_items_gets_a_set_to_fill_in(starter: Path, capsys: pytest.CaptureFixture[str]) -> None:
    head = (starter / "items.csv").read_text("utf-8").splitlines()[0]
    (starter / "items.csv").write_text(head + "\n", "utf-8")
    assert add(starter, "Rainy Evening") == 0
    assert "fewer than two are on sale" in capsys.readouterr().out
    assert ("missing-key", "sets/rainy-evening/set.toml") in check(starter, capsys)


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("First Light", "is there already"),
        ("first   light", "is there already"),
        ("!!!", "no letter"),
        ("", "An argument is empty"),
        ("x" * 99, "99 characters"),
        ("../../etc", ""),
    ],
)
def test_what_cannot_be_made_is_told_and_nothing_is_left(
    starter: Path, capsys: pytest.CaptureFixture[str], name: str, told: str
) -> None:
    before = sorted(path.name for path in (starter / "sets").iterdir())
    status = add(starter, name)
    assert told in capsys.readouterr().err
    made = sorted(path.name for path in (starter / "sets").iterdir())
    assert (status, made) == ((1 if name else 2, before) if told else (0, sorted([*before, "etc"])))


def test_a_folder_that_is_no_shop_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert add(tmp_path, "Rainy Evening") == 1
    assert "there is no shop.toml" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_the_season_is_the_one_that_is_on(starter: Path) -> None:
    text = (starter / "shop.toml").read_text("utf-8")
    spring = '\n[[season]]\nname = "spring"\non_sale = 2027-02-01\noff_sale = 2027-05-31\n'
    (starter / "shop.toml").write_text(text + spring, "utf-8")
    add(starter, "Rainy Evening")
    assert 'season = "spring"' in (starter / "sets" / "rainy-evening" / "set.toml").read_text("utf-8")


def test_a_set_is_begun_with_another_and_finished_by_looking_it_through(
    starter: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert add(starter, "Second Light", "--from", "first-light") == 0
    printed = capsys.readouterr().out
    assert "Begun with" in printed
    made = starter / "sets" / "second-light"
    assert sorted(path.name for path in made.iterdir()) == ["photos", "set.toml", "shots.md", "story.md"]
    assert list((made / "photos").iterdir()) == []
    assert (made / "story.md").read_text("utf-8") == (starter / "sets/first-light/story.md").read_text("utf-8")
    assert 'status = "draft"' in (made / "set.toml").read_text("utf-8")
    main(["check", "--shop", str(starter), *TODAY])
    assert "Must fix" not in capsys.readouterr().err.split("Still to do")[0]


def test_a_set_that_is_not_there_cannot_be_begun_with(starter: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert add(starter, "Second Light", "--from", "XX-9") == 1
    assert 'no set "XX-9" can be read. There are ' in capsys.readouterr().err
    assert not (starter / "sets" / "second-light").exists()


# Sets that could be made of what is on hand


@pytest.fixture
def stocked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """The demo shop without its pictures."""
    return demo_without_pictures(tmp_path / "shop")


def test_proposals_are_shown_and_the_one_of_a_number_becomes_a_set(
    stocked: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["add", "--propose", "--shop", str(stocked), *TODAY, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert len(answer["proposals"]) == 10
    third = answer["proposals"][2]
    assert main(["add", "--propose", "--shop", str(stocked), *TODAY]) == 0
    shown = capsys.readouterr().out
    assert f"{answer['of_three']} compositions of three pieces looked at, all there are" in shown
    assert "takes from " in shown
    assert add(stocked, "Rainy Evening", "--propose", "3", "--json") == 0
    made = json.loads(capsys.readouterr().out)
    assert (made["items"], made["options"]) == (third["items"], sorted(third["options"]))
    assert made["box"] == third["box"]
    assert made["why"] == "; ".join(third["reasons"])
    assert {code for code, file in check(stocked, capsys) if "rainy-evening" in file} <= {"unwritten", "shot-missing"}
    assert main(["add", "--propose", "--shop", str(stocked), *TODAY, "--json"]) == 0
    again = json.loads(capsys.readouterr().out)["proposals"]
    made_of = [each for each in again if (each["items"], each["options"]) == (third["items"], third["options"])]
    assert made_of == []


def test_a_set_of_a_proposal_gives_the_reasons_that_the_list_gave(
    stocked: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["add", "--propose", "--shop", str(stocked), *TODAY]) == 0
    listed = [line.strip() for line in capsys.readouterr().out.splitlines()]
    second = next(at for at, line in enumerate(listed) if line.startswith("2. "))
    assert add(stocked, "Rainy Evening", "--propose", "2") == 0
    shown = [line.strip() for line in capsys.readouterr().out.splitlines()]
    why = shown.index(f"why: {listed[second + 1]}")
    assert shown[why + 1] == listed[second + 2]
    assert "takes from " in shown[why + 1]


def test_three_proposals_are_built(stocked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for number in (1, 2, 3):
        assert add(stocked, f"Proposed {number}", "--propose", str(number)) == 0
        finish(stocked, f"proposed-{number}")
        turned = Image.linear_gradient("L").resize((2400, 2000)).rotate(90 * number).convert("RGB")
        turned.save(stocked / f"sets/proposed-{number}/photos/open-box.jpg", quality=85)
    assert check(stocked, capsys) == []
    text = (stocked / "shop.toml").read_text("utf-8")  # four pieces and a choice of four have much to declare
    assert 'size = "140 x 100 mm"' in text
    (stocked / "shop.toml").write_text(text.replace('size = "140 x 100 mm"', 'size = "140 x 104 mm"'), "utf-8")
    assert main(["build", "--shop", str(stocked), "--jobs", "1", *TODAY]) == 0


def test_what_cannot_be_proposed_is_said(stocked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert add(stocked, "Rainy Evening", "--propose", "99") == 1
    assert "there is no proposal 99. There are 1 to 10." in capsys.readouterr().err
    assert main(["add", "--propose", "--place", "nowhere", "--shop", str(stocked)]) == 1
    assert 'There is no channel "nowhere".' in capsys.readouterr().err
    (stocked / "channels").mkdir(exist_ok=True)
    (stocked / "channels/idle.toml").write_text('name = "Idle"\nmake = []\n', "utf-8")
    assert main(["add", "--propose", "--place", "idle", "--shop", str(stocked)]) == 1
    assert "Idle takes nothing" in capsys.readouterr().err
    lines_of = (stocked / "items.csv").read_text("utf-8").splitlines()
    (stocked / "items.csv").write_text("\n".join(lines_of[:3]) + "\n", "utf-8")
    assert main(["add", "--propose", "--shop", str(stocked), *TODAY]) == 1
    assert "2 of the items are on sale and on hand, and a set takes three." in capsys.readouterr().out
    (stocked / "items.csv").write_text("\n".join(lines_of[:2]) + "\n", "utf-8")
    assert main(["add", "--propose", "--shop", str(stocked), *TODAY]) == 1
    shown = capsys.readouterr().out
    assert "only one of the items is on sale and on hand, and a set takes three. Make some, or count again." in shown
    assert "looked at" not in shown
    assert add(stocked, "Rainy Evening", "--propose", "1", "--from", "OHS-1") == 1
    assert "Write one of them." in capsys.readouterr().err


def test_what_is_not_counted_is_proposed_without_a_number(stocked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with (stocked / "items.csv").open(encoding="utf-8", newline="") as file:
        rows = [{**row, "on hand": ""} for row in csv.DictReader(file)]
    with (stocked / "items.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, rows[0])
        table.writeheader()
        table.writerows(rows)
    assert main(["add", "--propose", "--shop", str(stocked), *TODAY]) == 0
    shown = capsys.readouterr().out
    assert "uncounted" in shown
    assert "are on hand" not in shown


def test_the_code_is_none_that_a_set_that_cannot_be_read_or_an_old_one_has(tmp_path: Path) -> None:
    shop = demo_without_pictures(tmp_path / "shop")
    broken, renamed = shop / "sets" / "frost-on-the-panes" / "set.toml", shop / "sets" / "first-nectar" / "set.toml"
    broken.write_text(broken.read_text("utf-8").replace("name = ", "name = 5 # "), "utf-8")
    renamed.write_text(f'old_codes = ["OHS-10"]\n{renamed.read_text("utf-8")}', "utf-8")
    assert 'code = "OHS-9"' in broken.read_text("utf-8")
    assert add(shop, "Plain box") == 0
    assert 'code = "OHS-11"' in (shop / "sets" / "plain-box" / "set.toml").read_text("utf-8")
