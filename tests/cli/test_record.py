"""`listkit record`, as an owner runs it after publishing."""

import shutil
import sqlite3
import time
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest

from listkit.cli import record as record_command
from listkit.ledger import file as ledger_file
from listkit.ledger.store import LEDGER
from tests.cli.published import DAY, Told, built_shop, bytes_of, small_shop
from tests.ledger.journals import journal


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop that is built."""
    return built_shop(tmp_path / "shop", capsys)


def count(told: Told) -> int:
    with closing(sqlite3.connect(told.shop / LEDGER)) as ledger:
        [[number]] = ledger.execute("SELECT count(*) FROM record").fetchall()
        assert ledger.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    return int(number)


def test_a_build_is_recorded_once_and_the_same_twice_adds_nothing(told: Told) -> None:
    first = told.json("record", "Own web shop", "--note", "spring")
    assert (first["recorded"], first["note"]) == (True, "spring")
    assert told.json("record", "web")["recorded"] is False
    assert told.run("record", "web") == 0
    assert told.err == "web is recorded already; nothing was added.\n"
    assert count(told) == 1


def test_before_any_build_there_is_nothing_to_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = Told(small_shop(tmp_path / "shop"), capsys)
    assert told.run("record", "web") == 1
    assert told.err.startswith("Not recorded: ")
    assert not (told.shop / LEDGER).exists()


def test_a_shop_that_changed_since_the_build_of_an_older_listkit_is_not_recorded(told: Told) -> None:
    (told.shop / "out/.places.json").unlink()
    told.edit("items.csv", "100 g,6.50", "100 g,7.00")
    assert told.run("record", "web") == 1
    assert "Build" in told.err
    assert told.build() == 0
    assert told.run("record", "web") == 0


def test_an_output_that_was_edited_by_hand_is_not_recorded(told: Told) -> None:
    feed = told.shop / "out/web/feed.csv"
    feed.write_bytes(feed.read_bytes().replace(b"16.50", b"15.50"))
    assert told.run("record", "web") == 1
    assert "feed.csv" in told.err
    assert not (told.shop / LEDGER).exists()


def test_the_last_record_is_taken_back_as_a_row_of_its_own(told: Told) -> None:
    assert told.run("record", "web") == 0
    told.edit("items.csv", "100 g,6.50", "100 g,7.00")
    assert told.build() == 0
    assert told.run("record", "web") == 0
    assert told.run("record", "web", "--undo") == 0
    assert told.err.startswith("taken back: web as of ")
    assert count(told) == 3
    changed = told.json("changes", "web", status=1)["web"]["changed"]
    assert [change["old"] for change in changed if change["field"] == "price"] == ["16.50", "16.50"]


def test_nothing_is_taken_back_where_nothing_was_recorded(told: Told) -> None:
    assert told.run("record", "web", "--undo") == 1
    assert told.err.startswith("Not recorded: ")


@pytest.mark.parametrize(("words", "status", "said"), [
    (("webb",), 1, "webb"), (("web", "--at", "yesterday"), 2, "2026-11-25T10:30"),
    (("web", "--at", "2999-01-01T10:00"), 2, "no time that has been"),
])  # fmt: skip
def test_a_slip_in_what_is_typed_is_told(told: Told, words: tuple[str, ...], status: int, said: str) -> None:
    assert told.run("record", *words) == status
    assert said in told.err


@pytest.mark.parametrize("lock", ["EXCLUSIVE", "IMMEDIATE"])
@pytest.mark.parametrize("words", [("web",), ("--all",), ("web", "--undo"), ("web", "--redate")], ids=" ".join)
def test_a_ledger_that_somebody_writes_to_is_waited_for_once(
    told: Told, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], lock: str
) -> None:
    """That a wait lasts as long as it may is asked in tests/ledger/test_waiting.py; here it is short, and counted."""
    assert told.run("record", "stall") == 0
    waits: list[str] = []
    monkeypatch.setattr(ledger_file, "say_waiting", waits.append)
    monkeypatch.setattr(record_command, "wait_for", partial(ledger_file.wait_for, wait=0.3))
    with closing(sqlite3.connect(told.shop / LEDGER)) as other:
        other.execute(f"BEGIN {lock}")
        assert told.run("record", *words) == 1
    [said] = waits
    assert said.startswith("ledger.sqlite3 is locked by another program: waiting until it is free, ")
    assert (
        told.err
        == "Not recorded: ledger.sqlite3: another program is writing to it just now. Wait until it has ended.\n"
    )
    assert count(told) == 1


@pytest.mark.parametrize(
    "words", [("history", "RRS-1-J1"), ("orders",), ("changes", "web", "--today", DAY)], ids=" ".join
)
def test_whoever_waits_for_the_ledger_says_so_at_once_and_ends_with_one_sentence(
    told: Told, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    assert told.run("record", "stall") == 0
    opening = ledger_file._connection
    monkeypatch.setattr(ledger_file, "_connection", lambda path, mode, wait: opening(path, mode, min(wait, 0.3)))
    with closing(sqlite3.connect(told.shop / LEDGER)) as other:
        other.execute("BEGIN EXCLUSIVE")
        assert told.run(*words) == 1
    waits, *_, ends = [line for line in told.err.splitlines() if "ledger.sqlite3" in line]
    assert waits.startswith("ledger.sqlite3 is locked by another program: waiting until it is free, ")
    assert ends.endswith("ledger.sqlite3: another program is writing to it just now. Wait until it has ended.")


@pytest.mark.parametrize("content", [b"not a ledger at all", b"SQLite format 3\x00" + bytes(84), b""])
def test_a_ledger_that_is_none_is_told_and_left_alone(told: Told, content: bytes) -> None:
    (told.shop / LEDGER).write_bytes(content)
    assert told.run("record", "web") == 1
    assert "ledger" in told.err
    assert (told.shop / LEDGER).read_bytes() == content


COMMANDS = (
    ("check",), ("build", "--today", DAY), ("changes",), ("compare", "web", "export.csv"), ("history", "RRS-1-J1"),
    ("show", "--all"), ("record", "web"), ("record", "web", "--undo"), ("record", "web", "--redate"),
)  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_no_command_deletes_what_a_journal_beside_the_ledger_names(told: Told, command: tuple[str, ...]) -> None:
    """SQLite, "Atomic Commit In SQLite", section 5, "Multi-file Commit"."""
    told.edit("shop.toml", "[prices]", '[[reduction]]\nfrom = 2027-02-22\nuntil = 2027-03-07\nby = "10 %"\n\n[prices]')
    assert told.build() == 0
    assert told.run("record", "web", "--today", DAY) == 0
    shutil.copyfile(told.shop / "out/web/feed.csv", told.shop / "export.csv")
    journal_of_items = journal(pages=9, name=bytes(told.shop / "items.csv"))
    (told.shop / f"{LEDGER}-journal").write_bytes(journal_of_items)
    before = bytes_of(told.shop)
    told.run(*command)
    assert bytes_of(told.shop) == before
    if command[0] not in ("show", "compare"):
        assert "names another file" in told.out + told.err


def test_after_the_clock_ran_ahead_a_record_can_be_given_its_time(told: Told, monkeypatch: pytest.MonkeyPatch) -> None:
    def ahead(stated: str) -> str:
        return stated or "2029-05-06T10:00:00+00:00"

    with monkeypatch.context() as clock:
        clock.setattr("listkit.cli.record._moment", ahead)
        assert told.run("record", "web", "--today", DAY, "--note", "market") == 0
    told.edit("items.csv", "100 g,6.50", "100 g,7.00")
    assert told.build("--accept-large-changes") == 0
    assert told.run("record", "web", "--today", DAY) == 1
    assert "2029-05-06" in told.err
    assert "listkit record web --redate --at TIME" in told.err
    when = "2026-11-20T09:00:00+00:00"
    redated = told.json("record", "web", "--redate", "--at", when)
    assert (redated["recorded"], redated["at"], redated["note"]) == (True, when, "market")
    assert told.run("record", "web", "--today", DAY) == 0
    assert told.run("history", "RRS-1-J1", "--today", DAY) == 0
    assert "2026-11-20" in told.out
    assert "2029" not in told.out
    assert count(told) == 4  # nothing was deleted


def test_a_ledger_of_a_newer_version_is_told_and_left_alone(told: Told) -> None:
    assert told.run("record", "web") == 0
    with closing(sqlite3.connect(told.shop / LEDGER)) as ledger:
        ledger.execute("PRAGMA user_version = 999")
    before = (told.shop / LEDGER).read_bytes()
    for command in (("record", "stall"), ("changes", "web"), ("history", "RRS-1-J1")):
        assert told.run(*command) == 1
        assert "newer" in told.err
    assert (told.shop / LEDGER).read_bytes() == before


def test_all_places_are_recorded_at_once_and_again_adds_nothing(told: Told) -> None:
    recorded = told.json("record", "--all", "--note", "spring")
    assert {key: each["recorded"] for key, each in recorded.items()} == {"stall": True, "web": True, "wholesale": True}
    assert count(told) == 3
    assert told.run("record", "--all") == 0
    assert told.err.count("is recorded already; nothing was added.") == 3


def test_a_place_that_cannot_be_recorded_keeps_no_other_back(told: Told) -> None:
    feed = told.shop / "out/web/feed.csv"
    feed.write_bytes(feed.read_bytes().replace(b"16.50", b"15.50"))
    assert told.run("record", "--all") == 1
    assert "web not recorded: " in told.err
    assert count(told) == 2


def test_a_place_whose_own_file_cannot_be_read_is_told_among_all(told: Told) -> None:
    told.edit("channels/web.toml", 'name = "Own web shop"', "name = Own web shop")
    assert told.build() == 1
    assert told.run("record", "--all") == 1
    assert "web not recorded: something must be fixed first." in told.err
    assert count(told) == 2


@pytest.mark.parametrize("words", [(), ("web", "--all"), ("--all", "--undo")])
def test_one_place_or_all_is_asked_for(told: Told, words: tuple[str, ...]) -> None:
    assert told.run("record", *words) == 2
    assert "--all" in told.err


def test_times_are_shown_in_the_owners_own_zone_and_stored_as_they_were(
    told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    """POSIX TZ: "EST5" is five hours behind UTC, "<+0530>-5:30" five and a half before it."""
    with monkeypatch.context() as zone:
        zone.setenv("TZ", "EST5")
        time.tzset()
        assert told.run("record", "web", "--at", "2026-11-25T22:30+00:00") == 0
        assert told.err == "web is recorded as of 2026-11-25 at 17:30.\n"
        told.edit("items.csv", "100 g,6.50", "100 g,7.00")
        zone.setenv("TZ", "<+0530>-5:30")
        time.tzset()
        assert told.run("changes", "web") == 1
        assert "Against what was recorded on 2026-11-26 at 04:00." in told.out
        assert told.json("changes", "web", status=1)["web"]["record"]["at"] == "2026-11-25T22:30:00+00:00"
        assert told.run("record", "web", "--at", "2026-11-25T22:00+00:00") == 1
        assert "2026-11-26 at 03:30 lies before the last record of web, that of 2026-11-26 at 04:00." in told.err
        assert told.run("record", "web", "--redate", "--at", "2026-11-25T12:00+01:00") == 0
        assert told.err == "web is recorded as of 2026-11-25 at 16:30, no longer of 2026-11-26 at 04:00.\n"
        assert told.run("record", "web", "--undo") == 0
        assert told.err == "taken back: web as of 2026-11-25 at 16:30.\n"
    time.tzset()


def test_a_line_sheet_that_was_sent_stays_when_the_next_one_is_built(told: Told) -> None:
    """Its bytes are those that were sent, under a name that ends with its version; prices are found by it too."""
    [sheet] = (told.shop / "out/wholesale").glob("line-sheet-*.pdf")
    version, sent = sheet.stem.rpartition("-")[2], sheet.read_bytes()
    assert told.run("record", "wholesale", "--at", "2026-11-01T10:00") == 0, told.err
    assert f"It stays in wholesale/sent/{sheet.name}." in told.err
    told.edit("items.csv", "100 g,6.50", "100 g,7.00")
    told.edit("wholesale.toml", "issued = 2027-01-15", f"issued = {DAY}")
    assert told.build() == 0, told.err
    assert not sheet.exists()
    assert (told.shop / "out/wholesale/sent" / sheet.name).read_bytes() == sent
    assert told.run("record", "wholesale") == 0
    assert len(list((told.shop / "out/wholesale/sent").iterdir())) == 2
    (told.shop / "order.csv").write_text("code,quantity\nRR-B1,40\n", encoding="utf-8")
    by_old = told.json("order", str(told.shop / "order.csv"), "--sheet", version, "--today", DAY)
    assert by_old["total"] == "130.00"  # 40 x 3.25, half of 6.50
