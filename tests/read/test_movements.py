"""movements.csv: every line is read or told, and what is written is read again."""

import datetime
import time
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit import bounds
from listkit.model.movements import MOVE_KINDS, StockMove
from listkit.problem import Level
from listkit.read.movements import MovesTail, as_read, moves_tail, parse_moves, read_moves, written_moves
from tests.shops import lines

HEADER = "day,kind,code,quantity,place,set,note,batch\n"
DAY = datetime.date(2026, 12, 5)
SOLD = StockMove(DAY, "sold", "OH-B01", 3, "stall", "OHS-1-U01", "", "1-0a1b2c3d")


def text_of(*moves: StockMove, before: str = "") -> str:
    return before + "".join(written_moves(moves, moves_tail(before)))


def test_a_file_that_is_not_there_or_empty_says_nothing(tmp_path: Path) -> None:
    assert read_moves(tmp_path, "")[0].moves == ()
    assert parse_moves("movements.csv", "")[1] == []
    assert parse_moves("movements.csv", HEADER) == parse_moves("movements.csv", HEADER[:9])


def test_what_is_written_is_read_again_with_the_lines_it_stands_in() -> None:
    back = replace(SOLD, takes_back=True)
    read, problems = parse_moves("movements.csv", text_of(SOLD, back))
    assert problems == []
    assert read.moves == (SOLD, back)
    assert [move.line for move in read.moves] == [2, 3]
    assert text_of(SOLD, back).splitlines()[2] == "2026-12-05,not sold,OH-B01,3,stall,OHS-1-U01,,1-0a1b2c3d"


def test_a_spreadsheet_may_have_saved_it_with_semicolons_other_line_ends_and_columns() -> None:
    text = 'batch;day;kind;code;quantity;place;set;note;mine\r\n;2026-12-05;sold;OH-B01;3;;;"a;b";x\r\n'
    read, problems = parse_moves("movements.csv", text)
    assert problems == []
    assert read.moves == (StockMove(DAY, "sold", "OH-B01", 3, note="a;b"),)
    assert moves_tail(text).separator == ";"


def test_what_is_added_to_a_file_with_columns_of_her_own_order_stands_in_them() -> None:
    before = "mine,note,day,code,kind,quantity,place,set,batch,kind\nx,,2026-12-05,OH-B01,sold,1,,,,y\n"
    move = replace(SOLD, note="burst")
    text = text_of(move, before=before)
    assert text.splitlines()[2] == ",burst,2026-12-05,OH-B01,sold,3,stall,OHS-1-U01,1-0a1b2c3d,"
    read, problems = parse_moves("movements.csv", text)
    assert problems == []
    assert read.moves[1] == move


def test_a_note_at_the_end_of_a_line_that_says_cut_off_is_none() -> None:
    before = "day,kind,code,quantity,place,set,batch,note\n"
    move = replace(SOLD, note="cut off")
    assert parse_moves("movements.csv", text_of(move, before=before))[0].moves == (move,)


def test_a_movement_is_read_again_as_is_foreseen() -> None:
    move = replace(SOLD, place="=stall", note=" two\n lines ")
    assert parse_moves("movements.csv", text_of(move))[0].moves == (as_read(move),)


def test_a_last_line_without_its_end_is_told_and_not_counted_and_passed_over_once_it_is_marked() -> None:
    torn = text_of(SOLD) + '2026-12-06,sold,OH-B01,12,stall,,"burst'
    read, problems = parse_moves("movements.csv", torn)
    assert read.moves == (SOLD,)
    assert [(problem.code, problem.place.line, problem.level) for problem in problems] == [
        ("movement-torn", 3, Level.LOOK_AT)
    ]
    after = text_of(replace(SOLD, quantity=5), before=torn)
    assert after.startswith(torn)
    read, problems = parse_moves("movements.csv", after)
    assert problems == []
    assert read.moves == (SOLD, replace(SOLD, quantity=5))


def test_a_header_that_was_cut_off_is_completed() -> None:
    for length in range(len(HEADER)):
        after = text_of(SOLD, before=HEADER[:length])
        assert parse_moves("movements.csv", after)[0].moves == (SOLD,)


def test_of_very_many_lines_that_cannot_be_read_the_first_are_told_and_how_many_more() -> None:
    _, problems = parse_moves("movements.csv", HEADER + "2026-12-05,sould,OH-B01,3,,,,\n" * 50)
    assert len(problems) == 21
    assert lines(problems)[-1].endswith("30 more lines cannot be read. Mend those above first.  movement-unread")


def test_a_file_of_nothing_but_broken_lines_is_not_read_to_its_end() -> None:
    """Nine million lines of a sign each took 34 s and 2.7 GB."""
    text = text_of(SOLD) + "x\n" * 1_000_000
    began = time.process_time()
    read, problems = parse_moves("movements.csv", text)
    assert time.process_time() - began < 1
    assert (len(problems), read.moves) == (21, (SOLD,))
    told = (
        f"{bounds.FAULTY_MOVES - 19} more lines cannot be read, up to line {bounds.FAULTY_MOVES + 3}; those behind are"
    )
    assert told in lines(problems)[-1]


def test_more_lines_than_a_shop_has_are_told_and_the_rest_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "MOVE_LINES", 4)
    assert parse_moves("movements.csv", text_of(SOLD, SOLD, SOLD))[1] == []
    for behind in (text_of(SOLD)[len(HEADER) :], "\n", "x", "x\ny"):
        read, problems = parse_moves("movements.csv", text_of(SOLD, SOLD, SOLD) + behind)
        assert read.moves == (SOLD,) * 3
        assert lines(problems) == [
            "Must fix · movements.csv, line 5: it has more than 4 lines; those from here on are left out. "
            "Is it the right file? Else put old lines away, and count anew.  movement-unread"
        ]


TEXTS = st.text(max_size=20)
CODES = st.from_regex(r"[A-C0-9][AB0-9-]{0,7}", fullmatch=True)
MOVES = st.builds(
    StockMove,
    st.dates(datetime.date(2020, 1, 1), datetime.date(2030, 1, 1)),
    st.sampled_from(MOVE_KINDS),
    CODES,
    st.integers(0, 10**6),
    takes_back=st.booleans(),
)


@given(st.lists(MOVES, min_size=1, max_size=5), TEXTS, TEXTS, st.sampled_from(",;\t"))
def test_whatever_a_note_or_place_holds_a_line_stays_one_line(
    moves: list[StockMove], place: str, note: str, separator: str
) -> None:
    moves = [replace(move, place=place, note=note) for move in moves]
    text = "".join(written_moves(moves, MovesTail(separator, first=HEADER.replace(",", separator))))
    assert text.count("\n") == len(moves) + 1
    read, problems = parse_moves("movements.csv", text)
    assert problems == []
    assert [replace(move, place="", note="") for move in read.moves] == [
        replace(move, place="", note="", line=0) for move in moves
    ]


@given(st.text(max_size=200))
def test_no_text_makes_reading_fail(text: str) -> None:
    parse_moves("movements.csv", HEADER + text)
    parse_moves("movements.csv", text)


@given(st.integers(0, 400), st.integers(1, 5))
def test_cut_off_anywhere_every_earlier_line_is_whole_and_the_next_adding_follows(length: int, count: int) -> None:
    moves = [replace(SOLD, quantity=at) for at in range(count)]
    whole = text_of(*moves)
    cut = whole[: max(len(whole) - length, 0)]
    read, problems = parse_moves("movements.csv", cut)
    assert read.moves == tuple(moves[: max(cut.count("\n") - 1, 0)])
    assert {problem.level for problem in problems} <= {Level.LOOK_AT}
    next_one = replace(SOLD, code="NEXT")
    assert parse_moves("movements.csv", text_of(next_one, before=cut))[0].moves == (*read.moves, next_one)


def test_a_line_of_a_year_that_nobody_means_is_told() -> None:
    assert lines(parse_moves("movements.csv", f"{HEADER}9999-12-31,sold,OH-B01,3,stall,,,\n")[1]) == [
        "Must fix · movements.csv, line 2: the year 9999 cannot be meant. Write one from 1900 to 2199.  movement-unread"
    ]


def test_a_line_without_a_kind_is_told_as_that() -> None:
    [told] = lines(parse_moves("movements.csv", f"{HEADER}2026-12-05,,OH-B01,3,stall,,,\n")[1])
    assert "line 2: it names no kind. Write counted, made" in told


def test_lines_that_end_with_cr_alone_are_told_as_that() -> None:
    text = f"{HEADER}2026-12-05,sold,OH-B01,3,stall,,,\n".replace("\n", "\r")
    assert lines(parse_moves("movements.csv", text)[1]) == [
        "Must fix · movements.csv, line 1: its lines end with CR alone, as of old programs. "
        "Save it again as CSV in UTF-8.  movement-unread"
    ]


def test_two_columns_of_one_name_are_told_and_neither_is_taken() -> None:
    """Of two, as a spreadsheet's column that was copied leaves them, nobody knows which is meant."""
    two = HEADER.replace("batch", "batch,Quantity")
    read, problems = parse_moves("movements.csv", f"{two}2026-12-05,sold,OH-B01,3,stall,,,,4\n")
    assert (read.moves, [each.message for each in problems]) == ((), ["its first line names quantity twice."])


def test_a_cell_behind_the_last_column_is_told() -> None:
    """A comma that was typed into a note parts it, and what stood behind would be the batch, or nothing."""
    line = "2026-12-05,sold,OH-B01,3,stall,,"
    read, problems = parse_moves("movements.csv", f"{HEADER}{line}rain, wind,\n{line}rain, wind,1\n{line}rain,1,,\n")
    assert [move.note for move in read.moves] == ["rain", "rain"]
    assert [(each.place.line, each.message) for each in problems] == [(3, "it has 9 cells, not 8.")]
