"""rates.csv: what stands in it, and what its steps must not do; every text is read without a traceback."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from listkit.model.packaging import Rate
from listkit.problem import Problem
from listkit.read.tables import read_rates
from listkit.units.spoken import Spoken

HEAD = "service,zone,over (g),up to (g),price\n"


def read(folder: Path, text: str) -> tuple[tuple[Rate, ...], list[Problem]]:
    (folder / "rates.csv").write_bytes(text.encode("utf-8", "surrogatepass"))
    return read_rates(folder, "rates.csv", Spoken("en-GB", "GBP"))


def test_steps_are_put_in_order_and_services_kept_apart(tmp_path: Path) -> None:
    rates, problems = read(tmp_path, f"{HEAD}Post,home,500,1000,3.90\nParcel,home,,1000,5.00\nPost,home,,500,3.10\n")
    assert problems == []
    assert [(one.service, str(one.price)) for one in rates] == [("Post", "3.10"), ("Post", "3.90"), ("Parcel", "5.00")]


def test_a_unit_may_stand_in_the_cell_and_a_gram_between_steps_is_no_gap(tmp_path: Path) -> None:
    text = "service,over,up to,price\nPost,,250 g,2.10\nPost,251 g,0.5 kg,2.60\n"
    rates, problems = read(tmp_path, text)
    assert problems == []
    assert [f"{one.up_to.grams:f}" for one in rates] == ["250", "500.0"]


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ("Post,home,,500,3.10\nPost,home,600,1000,3.90\n", "nothing is said of 500 g to 600 g"),
        ("Post,home,,500,3.10\nPost,home,400,1000,3.90\n", "over 400 g overlaps with up to 500 g"),
        ("Post,home,,500,3.10\nPost,home,,500,3.10\n", "stands in line 2 and again in line 3"),
        ("Post,home,500,500,3.10\n", "over 500 g is not below up to 500 g"),
    ],
)
def test_a_service_that_nobody_can_go_by_is_left_out_and_told(tmp_path: Path, steps: str, said: str) -> None:
    rates, problems = read(tmp_path, HEAD + steps + "Parcel,home,,1000,5.00\n")
    assert [one.service for one in rates] == ["Parcel"]
    [problem] = problems
    assert problem.code == "rate-steps"
    assert said in problem.message


def test_a_service_that_is_mistyped_in_one_step_is_named(tmp_path: Path) -> None:
    steps = "Marsh Packet,home,,350,2.40\nMarsh Packt,home,350,500,2.60\nMarsh Packet,home,500,750,3.05\n"
    rates, [problem] = read(tmp_path, HEAD + steps)
    assert problem.hint == 'Is "Marsh Packt" in line 3 the same service? Write its name the same.'
    assert [one.service for one in rates] == ["Marsh Packt"]


def test_a_step_that_cannot_be_read_leaves_no_gap_to_be_told(tmp_path: Path) -> None:
    rates, [problem] = read(tmp_path, f"{HEAD}Post,home,,350,2.40\nPost,home,350,500,perhaps\nPost,home,500,750,3.05\n")
    assert problem.code == "bad-value"
    assert rates == ()


def test_without_the_file_nothing_is_said(tmp_path: Path) -> None:
    assert read_rates(tmp_path, "", Spoken("en-GB", "GBP")) == ((), [])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25, deadline=None)
@given(text=st.text(max_size=200))
def test_behind_a_sound_row_any_text_gives_rows_or_is_told_in_one_line(tmp_path: Path, text: str) -> None:
    read(tmp_path, text)
    for content in (HEAD + text, HEAD + "Post,home,,500,3.10\n" + text):
        rows, problems = read(tmp_path, content)
        assert rows or problems or content == HEAD + text
        assert all(one.place.file == "rates.csv" and "\n" not in one.message for one in problems)
