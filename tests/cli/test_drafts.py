"""Drafts: a set that is not finished stops nobody."""

from pathlib import Path

import pytest

from tests.cli.published import DAY, Told
from tests.three_sets import for_places, outputs, published, three_sets

DRAFT = """code = "RRS-4"
name = "Night on the Mere"
theme = "WRITE HERE: the set in one sentence"
box = "S"
status = "draft"

[[contents]]
item = "RR-NOT-YET"
"""


def drafted(told: Told, text: str = DRAFT) -> None:
    (told.shop / "sets/a-night").mkdir()
    (told.shop / "sets/a-night/set.toml").write_text(text, encoding="utf-8")


def test_a_draft_is_checked_and_is_still_to_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = Told(three_sets(tmp_path / "shop"), capsys)
    drafted(told)
    assert told.run("check", "--today", DAY) == 0
    assert "Must fix" not in told.out
    assert "Still to do · sets/a-night/set.toml, line 8" in told.out
    assert "there is no item" in told.out
    closing = told.out.splitlines()[-2]
    assert closing.startswith("0 to fix, ")
    assert closing.endswith(" still to do in drafts.")


def test_beside_a_draft_a_row_of_items_that_finished_sets_use_must_be_fixed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What an unreadable row takes out of the shop is no less used: else sets would be left out and the status be 0."""
    told = Told(three_sets(tmp_path / "shop"), capsys)
    sheet = told.shop / "items.csv"
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("100 g", "bogus", 1), encoding="utf-8")
    assert told.run("check", "--today", DAY) == 1
    alone = [line for line in told.out.splitlines() if "bogus" in line]
    drafted(told)
    assert told.run("check", "--today", DAY) == 1
    assert [line for line in told.out.splitlines() if "bogus" in line] == alone != []


def test_json_keeps_its_two_levels_and_says_what_is_a_draft_s(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = Told(three_sets(tmp_path / "shop"), capsys)
    drafted(told)
    problems = told.json("check", "--today", DAY)["problems"]
    assert {problem["level"] for problem in problems} <= {"must fix", "look at"}
    [missing] = [problem for problem in problems if problem["code"] == "unknown-code"]
    assert (missing["level"], missing["draft"]) == ("must fix", True)
    assert all("draft" not in problem for problem in problems if not problem["file"].startswith("sets/a-night"))


def test_a_build_leaves_a_draft_out_and_says_so_each_time(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = Told(three_sets(tmp_path / "shop"), capsys)
    assert told.build() == 0
    without = for_places(told.shop)
    drafted(told)
    for _ in range(2):
        assert told.build() == 0
        assert "Left out: Night on the Mere (RRS-4) is a draft." in told.err.splitlines() or (
            "Left out: RRS-4 is a draft." in told.err.splitlines()
        )
        assert for_places(told.shop) == without


@pytest.mark.parametrize(
    "text",
    [
        DRAFT.replace("RR-NOT-YET", "RR-B1").replace("RRS-4", "RRS-1"),
        DRAFT.replace("RR-NOT-YET", "RR-B1"),
        DRAFT.replace('box = "S"', 'box = "Z"'),
        DRAFT + "colour = 3\n",
    ],
)
def test_whatever_a_draft_says_the_others_are_as_they_were(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A draft that begins as a copy, code and all, comes first and takes nothing from the set it was copied from."""
    told = Told(three_sets(tmp_path / "shop"), capsys)
    assert told.build() == 0
    without = for_places(told.shop)
    drafted(told, text)
    assert told.build() == 0, told.err
    assert for_places(told.shop) == without


def test_what_names_a_draft_elsewhere_is_no_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = Told(three_sets(tmp_path / "shop"), capsys)
    drafted(told)
    told.edit("wholesale.toml", '"RRS-2"', '"RRS-2", "RRS-4"')
    assert told.build() == 0, told.err
    assert "RRS-4" not in told.made("wholesale/record.jsonl")


def test_a_set_that_cannot_be_parsed_is_a_draft_unless_the_ledger_knows_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = published(tmp_path / "shop", capsys)
    drafted(told, 'code = "RRS-4"\nname = "Night\n')
    assert told.build() == 0
    assert "Left out, as set.toml cannot be read and was never published: RRS-4." in told.err
    told.edit("sets/noon/set.toml", 'name = "Noon by the Sluice"', 'name = "Noon')
    assert told.build() == 1
    assert "Must fix · sets/noon/set.toml, line 2" in told.err
    assert "still to do in drafts. Begin with sets/noon/set.toml; listkit check shows all." in told.err
    assert told.run("check", "--today", DAY) == 1
    assert "Still to do · sets/a-night/set.toml, line 2" in told.out


def test_a_set_without_a_code_that_can_be_read_is_a_draft_unless_one_is_lost(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = published(tmp_path / "shop", capsys)
    drafted(told, "name = Night\n")
    assert told.build() == 0
    assert "cannot be read and was never published: sets/a-night." in told.err
    (told.shop / "sets/noon/set.toml").write_text("name = Noon\n", encoding="utf-8")
    before = outputs(told.shop)["web/feed.csv"]
    assert told.build() == 1
    assert "Held back on Own web shop" in told.err
    assert outputs(told.shop)["web/feed.csv"] == before


def test_add_makes_a_draft_which_stops_no_build(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = Told(three_sets(tmp_path / "shop"), capsys)
    assert told.run("add", "Night on the Mere", "--today", DAY) == 0
    assert "draft" in told.out
    assert told.build() == 0, told.err
    assert "is a draft." in told.err
    assert "RRS-4" not in told.made("web/feed.csv")
    assert told.run("show", "RRS-4") == 0


def test_commands_that_compare_leave_drafts_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = published(tmp_path / "shop", capsys)
    drafted(told, DRAFT.replace("RR-NOT-YET", "RR-B1"))
    assert told.build() == 0
    assert told.run("changes", "web", "--today", DAY) == 0
    assert "Nothing differs." in told.out
    assert told.run("record", "web", "--today", DAY, "--at", "2026-11-02T10:00") == 0
    assert "recorded already" in told.err
    assert told.run("compare", "web", str(told.shop / "out/web/feed.csv"), "--today", DAY) == 0
