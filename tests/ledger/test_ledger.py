"""Recording, taking back, and what stands afterwards."""

import shutil
import sqlite3
import subprocess
import threading
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.ledger.store import (
    Difference,
    Facts,
    Stamp,
    difference,
    lines_of,
    record,
    records,
    redate,
    standing,
    undo,
)
from listkit.problem import FieldError
from tests.ledger.rows import TEXT, at, facts, lines, row, snapshot

U01, U02, S03 = (f"OHS-1-{part}" for part in ("U01", "U02", "S03"))


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """Where a ledger may be."""
    return tmp_path / "ledger.sqlite3"


def counts(ledger: Path) -> dict[str, int]:
    """How many rows each table has."""
    with closing(sqlite3.connect(ledger)) as connection:
        return {
            name: connection.execute(f"SELECT count(*) FROM {name}").fetchone()[0]
            for name in ("record", "entry", "content", "passage")
        }


def whole(ledger: Path) -> bool:
    """Whether SQLite finds nothing wrong, nor any row without the one it names."""
    with closing(sqlite3.connect(ledger)) as connection:
        checks = connection.execute("PRAGMA integrity_check").fetchall()
        return checks == [("ok",)] and connection.execute("PRAGMA foreign_key_check").fetchall() == []


def test_everything_is_new_before_anything_is_recorded(ledger: Path) -> None:
    found = difference(ledger, "web", snapshot(row(U01)))
    assert (found.record, found.old, dict(found.new.rows)) == (None, Facts(), dict(lines(row(U01))))
    assert not ledger.exists()


def test_what_was_recorded_is_found_again_letter_for_letter(ledger: Path) -> None:
    rows = row(U01), row(U02, description=TEXT + 'é ☕ " \\ \n\u2028'), row(S03, price="27.00")
    made = record(ledger, "web", snapshot(*rows), at(1, note="the first"))
    assert made is not None
    assert (made.number, made.channel, made.note) == (1, "web", "the first")
    found = difference(ledger, "web", snapshot())
    assert dict(found.old.rows) == dict(lines(*rows))
    assert whole(ledger)


def test_only_what_differs_comes_back(ledger: Path) -> None:
    record(ledger, "web", snapshot(row(U01), row(U02), items=facts(OH_B01={"retail": "7.50"})), at(1))
    now = snapshot(row(U01), row(S03), items=facts(OH_B01={"retail": "8.00"}))
    found = difference(ledger, "web", now)
    assert (list(found.old.rows), list(found.new.rows), found.alike) == ([U02], [S03], 1)
    assert found.old.items == {"OH-B01": '{"retail":"7.50"}'}
    assert found.new.items == {"OH-B01": '{"retail":"8.00"}'}
    assert difference(ledger, "web", now, sections=("rows",)).old.items == {}


def test_the_same_twice_adds_nothing(ledger: Path) -> None:
    record(ledger, "web", snapshot(row(U01)), at(1))
    before = counts(ledger)
    assert record(ledger, "web", snapshot(row(U01)), at(2)) is None
    assert counts(ledger) == before


def test_a_channel_without_rows_is_recorded_too(ledger: Path) -> None:
    assert record(ledger, "web", snapshot(), at(1)) is not None
    assert record(ledger, "web", snapshot(), at(2)) is None


def test_channels_do_not_touch_each_other(ledger: Path) -> None:
    record(ledger, "web", snapshot(row(U01)), at(1))
    record(ledger, "stall", snapshot(row(U01, "30.00")), at(2))
    assert difference(ledger, "web", snapshot(row(U01))).old == Facts()
    assert [one.channel for one in records(ledger)] == ["web", "stall"]
    assert [one.channel for one in records(ledger, "stall")] == ["stall"]


def test_a_record_keeps_only_what_changed_and_a_shared_text_once(ledger: Path) -> None:
    many = [row(f"OHS-1-{number:03d}") for number in range(50)]
    record(ledger, "web", snapshot(*many), at(1))
    assert counts(ledger) == {"record": 1, "entry": 50, "content": 50, "passage": 1}
    many[7] = row("OHS-1-007", "31.00")
    record(ledger, "web", snapshot(*many[:-1]), at(2))
    assert counts(ledger) == {"record": 2, "entry": 52, "content": 51, "passage": 1}


def test_taking_back_brings_the_state_before_and_deletes_nothing(ledger: Path) -> None:
    first, second = snapshot(row(U01)), snapshot(row(U01, "31.00"), row(U02))
    record(ledger, "web", first, at(1))
    record(ledger, "web", second, at(2))
    before = counts(ledger)
    taken = undo(ledger, "web", at(3))
    assert taken.number == 2
    assert counts(ledger) == before | {"record": 3}
    assert difference(ledger, "web", first).old == Facts()
    assert [one.number for one in records(ledger)] == [1]
    again = record(ledger, "web", second, at(4))
    assert again is not None
    assert again.number == 4
    assert difference(ledger, "web", second).old == Facts()
    assert whole(ledger)


def test_taking_back_goes_on_to_the_very_first_and_then_says_so(ledger: Path) -> None:
    with pytest.raises(FieldError, match="nothing is recorded of web"):
        undo(ledger, "web", at(1))
    assert not ledger.exists()
    for day in (1, 2):
        record(ledger, "web", snapshot(row(U01, f"{day}.00")), at(day))
    assert [undo(ledger, "web", at(3)).number for _ in range(2)] == [2, 1]
    with pytest.raises(FieldError, match="nothing is recorded of web"):
        undo(ledger, "web", at(3))
    assert difference(ledger, "web", snapshot()).record is None


def test_a_time_before_the_last_record_is_refused_whatever_its_zone(ledger: Path) -> None:
    record(ledger, "web", snapshot(row(U01)), Stamp("2026-11-02T10:00:00+00:00"))
    with pytest.raises(FieldError, match="lies before the last record"):
        record(ledger, "web", snapshot(row(U02)), Stamp("2026-11-02T11:30:00+02:00"))
    assert record(ledger, "web", snapshot(row(U02)), Stamp("2026-11-02T08:30:00-02:00")) is not None


AHEAD = Stamp("2029-05-06T10:00:00+02:00", "market")


def test_a_record_with_a_day_yet_to_come_is_told_with_its_day_and_can_be_taken_back(ledger: Path) -> None:
    record(ledger, "web", snapshot(row(U01)), at(1))
    record(ledger, "web", snapshot(row(U01, "30.00")), AHEAD)
    before = counts(ledger)
    with pytest.raises(FieldError, match="lies before the last record of web, that of 2029-05-06") as fault:
        record(ledger, "web", snapshot(row(U02)), at(2))
    assert "--redate" in fault.value.hint
    assert "--undo" in fault.value.hint
    assert counts(ledger) == before
    assert undo(ledger, "web", at(2)).at == AHEAD.at
    assert counts(ledger) == before | {"record": before["record"] + 1}
    assert record(ledger, "web", snapshot(row(U02)), at(3)) is not None
    assert [one.day.day for one in records(ledger)] == [1, 3]


def test_a_record_that_is_given_its_time_keeps_what_it_holds_and_nothing_is_deleted(ledger: Path) -> None:
    record(ledger, "web", snapshot(row(U01), row(U02)), at(1))
    record(ledger, "web", snapshot(row(U01, "30.00")), AHEAD)
    before = counts(ledger)
    was, now = redate(ledger, "web", at(5))
    assert ((was.number, was.at), (now.number, now.at, now.note)) == ((2, AHEAD.at), (4, at(5).at, "market"))
    assert counts(ledger) == before | {"record": 4, "entry": before["entry"] + 2}
    assert difference(ledger, "web", snapshot(row(U01, "30.00"))) == Difference(now, Facts(), Facts(), 1)
    found = [(one.day.day, line) for one, line in lines_of(ledger, U01, "rows")]
    assert [day for day, _ in found] == [1, 5]
    assert standing(ledger, "web", "rows", until=3) == dict(lines(row(U01), row(U02)))
    assert whole(ledger)


def test_a_record_is_given_no_time_before_the_one_before_it(ledger: Path) -> None:
    with pytest.raises(FieldError, match="nothing is recorded of web"):
        redate(ledger, "web", at(1))
    assert not ledger.exists()
    record(ledger, "web", snapshot(row(U01)), at(4))
    record(ledger, "web", snapshot(row(U02)), AHEAD)
    with pytest.raises(FieldError, match="before the record before the last of web, that of 2026-11-04") as fault:
        redate(ledger, "web", at(3))
    assert fault.value.hint.startswith("Name a time after that one with --at.")
    assert [one.at for one in records(ledger)] == [at(4).at, AHEAD.at]


@pytest.mark.parametrize("text", ["", "soon", "2026-11-02T10:00:00"])
def test_a_time_says_how_far_it_is_from_utc(ledger: Path, text: str) -> None:
    with pytest.raises(FieldError, match="is no time"):
        record(ledger, "web", snapshot(row(U01)), Stamp(text))
    assert not ledger.exists()


def test_every_line_of_a_code_is_told_with_its_record_those_taken_back_left_out(ledger: Path) -> None:
    record(ledger, "web", snapshot(row(U01, "1.00")), at(1))
    record(ledger, "web", snapshot(row(U01, "2.00")), at(2))
    undo(ledger, "web", at(3))
    record(ledger, "web", snapshot(), at(4))
    found = [(one.day.day, line) for one, line in lines_of(ledger, U01, "rows")]
    assert found == [(1, dict(lines(row(U01, "1.00")))[U01]), (4, None)]


def test_two_who_record_at_once_wait_for_each_other(ledger: Path) -> None:
    def one(channel: str) -> None:
        made.append(record(ledger, channel, snapshot(*(row(f"A-{n}") for n in range(200))), at(1)))

    made: list[object] = []
    threads = [threading.Thread(target=one, args=(channel,)) for channel in ("web", "stall", "web", "fair")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 4
    assert made.count(None) == 1
    assert sorted(one.channel for one in records(ledger)) == ["fair", "stall", "web"]
    assert whole(ledger)


def test_the_sqlite3_program_reads_the_ledger(ledger: Path) -> None:
    program = shutil.which("sqlite3")
    if program is None:
        pytest.skip("the sqlite3 program is not installed")
    record(ledger, "web", snapshot(row(U01), row(U02, "31.00")), at(1, note="for Saturday"))
    query = (
        "SELECT r.note, e.code, json_extract(c.text, '$.price') FROM record r "
        "JOIN entry e ON e.record = r.number JOIN content c USING (digest) ORDER BY e.code; PRAGMA integrity_check;"
    )
    told = subprocess.run([program, "-readonly", str(ledger), query], capture_output=True, text=True, check=True)
    assert told.stdout.splitlines() == [f"for Saturday|{U01}|29.00", f"for Saturday|{U02}|31.00", "ok"]


facts_of_rows = st.dictionaries(
    st.sampled_from(["A", "B", "C", "D", "é"]),
    st.fixed_dictionaries({"price": st.sampled_from(["1.00", "2.00"]), "description": st.text(max_size=200)}),
)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.one_of(facts_of_rows, st.none()), min_size=1, max_size=8))
def test_after_any_row_of_records_and_undoings_the_last_that_counts_stands(
    tmp_path_factory: pytest.TempPathFactory, steps: list[dict[str, dict[str, Any]] | None]
) -> None:
    ledger = tmp_path_factory.mktemp("ledger") / "ledger.sqlite3"
    stack: list[dict[str, str]] = []
    for step in steps:
        if step is None:
            if stack:
                undo(ledger, "web", at(1))
                stack.pop()
            continue
        rows = dict(lines(*({"sku": code, **one} for code, one in step.items())))
        made = record(ledger, "web", snapshot(*({"sku": code, **one} for code, one in step.items())), at(1))
        if made is not None:
            stack.append(rows)
        assert stack[-1] == rows
    found = difference(ledger, "web", snapshot())
    assert dict(found.old.rows) == (stack[-1] if stack else {})
    assert [one.channel for one in records(ledger)] == ["web"] * len(stack)
