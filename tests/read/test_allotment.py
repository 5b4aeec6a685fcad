"""allotment.csv that is none: told soon, and never read to its end for messages that nobody is shown."""

import time
from pathlib import Path

import pytest

from listkit import bounds
from listkit.read.allotment import _parsed, _read
from tests.shops import lines

HEADER = "place,code,pieces,after line\n"


def test_a_file_of_nothing_but_broken_rows_is_not_read_to_its_end(tmp_path: Path) -> None:
    """Eight hundred thousand took 11 s."""
    (tmp_path / "allotment.csv").write_text(HEADER + "x\n" * 1_000_000, encoding="utf-8")
    began = time.process_time()
    read, problems = _read(tmp_path, "allotment.csv")
    assert time.process_time() - began < 1
    assert (len(problems), read.whole) == (20, False)


def test_more_rows_than_there_may_be_variants_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "ALLOTTED_ROWS", 2)
    rows = [(1, HEADER.strip().split(",")), *((at, ["stall", f"A-{at}", "1", ""]) for at in (2, 3))]
    assert _parsed("allotment.csv", iter(rows))[1] == []
    read, problems = _parsed("allotment.csv", iter([*rows, (4, ["stall", "A-4", "1", ""])]))
    assert not read.whole
    assert lines(problems)[0].startswith("Must fix · allotment.csv, line 4: it has more than ")


def test_two_columns_of_one_name_and_cells_behind_the_last_are_told(tmp_path: Path) -> None:
    (tmp_path / "allotment.csv").write_text("place,code,pieces,Pieces\nstall,A-1,2,5\n", encoding="utf-8")
    read, problems = _read(tmp_path, "allotment.csv")
    assert (read.rows, [each.message for each in problems]) == ((), ["its first row names pieces twice."])
    (tmp_path / "allotment.csv").write_text(f"{HEADER}stall,A-1,2,,\nstall,A-2,1,,5\n", encoding="utf-8")
    read, problems = _read(tmp_path, "allotment.csv")
    assert [(each.place.line, each.message) for each in problems] == [(3, "it has 5 cells, not 4.")]
