"""A set that needs mending holds back nothing but itself and, where it was published, the files it shares."""

import csv
from pathlib import Path

import pytest

from listkit.ledger.faults import busy
from tests.cli.published import DAY, Told
from tests.three_sets import outputs, published, three_sets

BREAK = ("sets/noon/set.toml", 'item = "RR-K1"', 'item = "RR-K9"')


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """The shop, built and recorded on its web shop and as wholesale."""
    return published(tmp_path / "shop", capsys)


def codes(text: str, heading: str = "Item number") -> set[str]:
    return {row[heading] for row in csv.DictReader(text.splitlines())}


def test_joint_files_stay_whole_where_it_was_published_and_others_are_made_without_it(told: Told) -> None:
    before = outputs(told.shop)
    told.edit(*BREAK)
    told.edit("sets/dusk/story.md", "Salts for the dusk", "More salts for the dusk")
    assert told.build() == 1
    now = outputs(told.shop)
    assert now["web/feed.csv"] == before["web/feed.csv"]
    assert now["web/prices.csv"] == before["web/prices.csv"]
    assert now["web/record.jsonl"] == before["web/record.jsonl"]
    assert now["web/listings/noon.html"] == before["web/listings/noon.html"]
    assert b"More salts" in now["web/listings/dusk.html"]
    assert {path: content for path, content in now.items() if path.startswith("wholesale/")} == {
        path: content for path, content in before.items() if path.startswith("wholesale/")
    }
    assert "Noon" not in now["stall/price-list.csv"].decode()
    assert "Dusk" in now["stall/price-list.csv"].decode()
    [line] = [line for line in told.err.splitlines() if line.startswith("Held back")]
    assert line == (
        "Held back on Own web shop and Wholesale until mended: Noon by the Sluice (RRS-2). Feeds, lists and sheets "
        "there stay as they are; to make them without: listkit build --without RRS-2"
    )


def test_a_ledger_that_is_locked_is_waited_for_once_and_then_all_counts_as_published(
    told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    waits: list[Path] = []

    def locked(path: Path, *_: str) -> dict[str, str]:
        waits.append(path)
        raise busy()

    told.edit(*BREAK)
    monkeypatch.setattr("listkit.actions.held.standing", locked)
    assert told.build("--accept-large-changes") == 1
    assert "Held back on Market stall, Own web shop and Wholesale until mended" in told.err
    assert len(waits) == 1


def test_mended_it_is_as_though_nothing_had_been(told: Told) -> None:
    before = outputs(told.shop)
    told.edit(*BREAK)
    assert told.build() == 1
    told.edit(BREAK[0], BREAK[2], BREAK[1])
    assert told.build() == 0
    assert outputs(told.shop) == before


def test_a_held_build_is_never_taken_for_a_finished_one(told: Told) -> None:
    told.edit(*BREAK)
    for _ in range(2):
        assert told.build() == 1
        assert "Held back on" in told.err


def test_without_makes_the_joint_files_without_it(told: Told) -> None:
    told.edit(*BREAK)
    assert told.build("--without", "RRS-2") == 0, told.err
    assert codes(told.made("web/feed.csv")) == {"RRS-1-J1", "RRS-1-J2", "RRS-3"}
    assert "Left out, as you asked: Noon by the Sluice (RRS-2)." in told.err
    assert "web/listings/noon.html" not in outputs(told.shop)
    assert told.run("record", "web", "--today", DAY, "--at", "2026-11-02T10:00") == 1
    assert told.run("record", "web", "--without", "RRS-2", "--today", DAY, "--at", "2026-11-02T10:00") == 0, told.err
    assert told.build() == 1
    assert "Held back on Wholesale until mended" in told.err


def test_without_an_unknown_code_is_told(told: Told) -> None:
    for command in (("build",), ("changes",), ("record", "web")):
        assert told.run(command[0], *command[1:], "--without", "RRS-9", "--today", DAY) in (1, 2)
        assert 'There is no set "RRS-9". There are: RRS-1, RRS-3, RRS-2.' in told.err
    assert told.build("--without", "RRS-9") == 2


def test_strict_writes_nothing_while_anything_must_be_fixed(told: Told) -> None:
    before = outputs(told.shop)
    told.edit(*BREAK)
    told.edit("sets/dusk/story.md", "Salts", "More salts")
    assert told.build("--strict") == 1
    assert outputs(told.shop) == before


def test_changes_calls_its_rows_held_back_and_never_gone(told: Told) -> None:
    told.edit(*BREAK)
    told.edit("items.csv", "7.50,1.60", "7.90,1.60")
    assert told.run("changes", "web", "--today", DAY) == 1
    assert "gone" not in told.out.replace("0 gone", "").replace("not gone", "")
    assert "1 held back" in told.out
    assert "Held back until mended; not gone\n  RRS-2  Noon by the Sluice" in told.out
    assert "Take down by hand" not in told.out
    assert "feed.csv" not in told.out
    facts = told.json("changes", "web", "--today", DAY, status=1)["web"]
    assert (facts["held_back"], facts["gone"]) == (["RRS-2"], [])
    assert {change["code"] for change in facts["changed"]} == {"RRS-3"}
    assert not [file for file in facts["files"] if "noon" in file["path"] or "feed" in file["path"]]
    assert facts["causes"]
    assert all("RRS-2" not in cause["sets"] for cause in facts["causes"])


def test_a_place_that_holds_back_cannot_be_recorded(told: Told) -> None:
    told.edit(*BREAK)
    assert told.build() == 1
    assert told.run("record", "web", "--today", DAY, "--at", "2026-11-02T10:00") == 1
    assert "RRS-2 must be fixed and is held back on Own web shop." in told.err
    assert told.run("record", "stall", "--today", DAY, "--at", "2026-11-02T10:00") == 0, told.err


def test_a_broken_row_of_the_items_breaks_the_sets_that_use_it_alone(told: Told) -> None:
    before = outputs(told.shop)
    told.edit("items.csv", "RR-K1,Reed Mace,bath salts,200 g,7.00", "RR-K1,Reed Mace,bath salts,200 g,seven")
    told.edit("sets/dusk/story.md", "Salts", "More salts")
    assert told.build() == 1
    assert outputs(told.shop)["web/feed.csv"] == before["web/feed.csv"]
    assert b"More salts" in outputs(told.shop)["web/listings/dusk.html"]
    assert "RRS-2" in "".join(line for line in told.err.splitlines() if line.startswith("Held back"))


def test_a_channel_s_own_file_stops_that_channel_alone(told: Told) -> None:
    before = outputs(told.shop)
    told.edit("channels/web.toml", 'text = "html"', 'text = "htm"')
    told.edit("items.csv", "7.50,1.60", "7.90,1.60")
    assert told.build() == 1
    now = outputs(told.shop)
    for path in (path for path in before if path.startswith("web/")):
        assert now[path] == before[path]
    assert now["stall/price-list.csv"] != before["stall/price-list.csv"]
    assert "Held back until its own file is mended: web. All its files stay as they are." in told.err
    assert told.build("--channel", "web") == 1
    assert told.run("changes", "--today", DAY) == 1
    assert "Own web shop" not in told.out


def test_a_place_of_which_nothing_is_made_brakes_no_build(told: Told) -> None:
    told.edit("channels/web.toml", 'columns = ["Item number", "Price"]', 'columns = ["Item number", "Prce"]')
    told.edit("items.csv", "100 g,6.50", "100 g,16.50")
    before = outputs(told.shop)
    assert told.build() == 1
    assert "Large change" not in told.err
    assert "Held back until its own file is mended: Own web shop." in told.err
    now = outputs(told.shop)
    assert now["web/feed.csv"] == before["web/feed.csv"]
    assert now["stall/price-list.csv"] != before["stall/price-list.csv"]


@pytest.mark.parametrize(
    ("path", "old", "new"),
    [("shop.toml", 'currency = "GBP"', "currency = GBP"), ("items.csv", "code,name", "cde,nme")],
)
def test_what_is_wrong_for_everything_stops_everything(path: str, old: str, new: str, told: Told) -> None:
    before = outputs(told.shop)
    told.edit(path, old, new)
    told.edit("sets/dusk/story.md", "Salts", "More salts")
    assert told.build() == 1
    assert outputs(told.shop) == before
    assert told.run("changes", "--today", DAY) == 1


def test_nothing_is_written_where_no_set_is_left(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = Told(three_sets(tmp_path / "shop"), capsys)
    assert told.build() == 0
    before = outputs(told.shop)
    told.edit("items.csv", "RR-B1,Sedge & Salt,bar soap,100 g,6.50", "RR-B1,Sedge & Salt,bar soap,100 g,six")
    assert told.build() == 1
    assert outputs(told.shop) == before
