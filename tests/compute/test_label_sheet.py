"""Where labels lie on a sheet, and what is told when they cannot."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from listkit.compute.labels import misfits, sheet_plan
from listkit.model.labels import Labels
from listkit.units.shown import METRIC


def labels(**says: Any) -> Labels:
    return Labels.model_validate({"size": "96 x 134 mm", **says})


def told(**says: Any) -> list[str]:
    return [f"{one.key}: {one.message} {one.hint}" for one in misfits(labels(**says), "labels", METRIC)]


@pytest.mark.parametrize(
    ("sheet", "size", "columns", "rows", "wide"),
    [
        ("letter landscape", "5 1/2 x 4 1/4 in", 1, 2, "215.9"),  # 8.1 by 10.6 in: two, of 10.6 by 8.1 in one
        ("letter", "3 1/2 x 2 in", 3, 4, "279.4"),  # three of 3.5 in are 10.5 in
        ("A4 landscape", "140 x 100 mm", 2, 2, "297"),
        ("A4", "88 x 56 mm", 2, 5, "210"),
        ("A4", "95 x 95 mm", 2, 3, "210"),  # as many either way: as it is written
    ],
)
def test_a_sheet_lies_the_way_on_which_more_labels_fit(
    sheet: str, size: str, columns: int, rows: int, wide: str
) -> None:
    """Worked out by hand: the sheet less 5 mm all round, divided by the label."""
    plan = sheet_plan(labels(sheet=sheet, size=size))
    assert (plan.columns, plan.rows, plan.sheet.width) == (columns, rows, Decimal(wide))


@pytest.mark.parametrize("stated", [{"columns": 1}, {"margin_top": "0 mm"}, {"crop_marks": False}])
def test_a_sheet_of_which_the_owner_says_how_labels_lie_is_not_turned(stated: dict[str, Any]) -> None:
    assert sheet_plan(labels(sheet="letter landscape", size="139.7 x 107.95 mm", **stated)).sheet.width > 279
    assert sheet_plan(labels(sheet="279.4 x 215.9 mm", size="139.7 x 107.95 mm")).sheet.width > 279


def test_labels_lie_where_the_settings_say() -> None:
    margins = {"margin_left": "6 mm", "margin_top": "11 mm"}
    plan = sheet_plan(labels(columns=2, rows=2, pitch_across="99 mm", pitch_down="138 mm", **margins))
    assert plan.places == tuple((Decimal(x), Decimal(y)) for y in ("11", "149") for x in ("6", "105"))
    assert (plan.right, plan.bottom) == (Decimal(201), Decimal(283))


def test_what_is_left_out_is_as_many_as_fit_in_the_middle() -> None:
    plan = sheet_plan(labels())
    assert (plan.columns, plan.rows, plan.left, plan.top) == (2, 2, Decimal(9), Decimal("14.5"))


def test_letter_is_eight_and_a_half_by_eleven_inches() -> None:
    """The North American paper size, 215.9 x 279.4 mm; ISO 216 has A4 as 210 x 297 mm."""
    plan = sheet_plan(labels(sheet="letter", size="3.8 x 3.1 in"))
    assert (plan.sheet.width, plan.sheet.height) == (Decimal("215.9"), Decimal("279.4"))
    assert (plan.columns, plan.rows) == (2, 3)


def test_a_roll_is_as_wide_and_long_as_its_labels() -> None:
    plan = sheet_plan(labels(sheet="roll", size="70 x 95 mm"))
    assert (plan.sheet.width, plan.sheet.height) == (Decimal(70), Decimal(95))
    assert plan.places == ((Decimal(0), Decimal(0)),)
    spaced = sheet_plan(labels(sheet="roll", size="30 x 20 mm", columns=2, pitch_across="33 mm", margin_left="1 mm"))
    assert (spaced.sheet.width, spaced.sheet.height) == (Decimal(65), Decimal(20))


def test_a_pitch_smaller_than_the_label_is_told_with_by_how_much() -> None:
    assert told(columns=2, pitch_across="91 mm") == [
        'pitch_across: labels 96 mm wide lie 91 mm apart, 5 mm of them upon the next. Write "96 mm" at least.'
    ]


def test_more_columns_than_the_sheet_has_room_for_are_told() -> None:
    assert told(columns=3) == [
        "columns: 3 columns of labels 96 mm wide need 78 mm more than the sheet of 210 mm has. "
        "Write columns = 2, or smaller labels."
    ]


def test_a_label_larger_than_the_sheet_is_told() -> None:
    assert told(size="300 x 50 mm", rows=1) == [
        "size: labels 300 mm wide need 90 mm more than the sheet of 210 mm has. Labels at most 210 mm wide fit."
    ]


def test_a_margin_that_pushes_labels_off_the_sheet_is_told() -> None:
    assert told(rows=2, columns=2, margin_top="40 mm") == [
        "rows: 2 rows of labels 134 mm high need 11 mm more than the sheet of 297 mm has. "
        "Write rows = 1, or smaller labels."
    ]


def test_labels_that_fit_are_told_nothing() -> None:
    assert told() == []
    assert told(sheet="roll") == []


MM = st.decimals(5, 320, places=1)  # what is smaller is not taken: tests/model/test_printed.py
MAYBE = st.none() | st.decimals(0, 200, places=1)
COUNTS = st.none() | st.integers(1, 12)


@settings(deadline=None, suppress_health_check=[HealthCheck.filter_too_much])  # most sheets drawn are told
@given(width=MM, height=MM, across=MAYBE, down=MAYBE, left=MAYBE, top=MAYBE, columns=COUNTS, rows=COUNTS)
def test_where_nothing_is_told_no_label_lies_upon_another_or_off_the_sheet(**drawn: Any) -> None:
    lengths = {"pitch_across": "across", "pitch_down": "down", "margin_left": "left", "margin_top": "top"}
    says = {key: f"{drawn[name]} mm" for key, name in lengths.items() if drawn[name] is not None}
    one = labels(size=f"{drawn['width']} x {drawn['height']} mm", columns=drawn["columns"], rows=drawn["rows"], **says)
    assume(not list(misfits(one, "labels", METRIC)))
    plan = sheet_plan(one)
    assert len(plan.places) == plan.columns * plan.rows
    for x, y in plan.places:
        assert 0 <= x <= plan.sheet.width - plan.label.width
        assert 0 <= y <= plan.sheet.height - plan.label.height
    assert plan.columns == 1 or plan.across >= plan.label.width
    assert plan.rows == 1 or plan.down >= plan.label.height


def test_more_labels_than_go_on_any_sheet_are_told_on_a_roll_too() -> None:
    """The long side of A0 has 240 of the narrowest labels, ISO 216; a roll of a million rows filled the memory."""
    assert labels(sheet="roll", columns=240, rows=240).rows == 240
    with pytest.raises(ValidationError, match="999,999 are more than go on any sheet or strip"):
        labels(sheet="roll", rows=999_999)
