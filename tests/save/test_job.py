import subprocess
import sys
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum, StrEnum
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict

from listkit.save.job import File, Job, key_of


class Shape(StrEnum):
    BOX = "box"
    BALL = "ball"


class Mark(Enum):
    BOX = "box"


@dataclass(frozen=True, slots=True)
class Jar:
    name: str
    price: Decimal


@dataclass(frozen=True, slots=True)
class Tin:
    name: str
    price: Decimal


class Card(BaseModel):
    model_config = ConfigDict(frozen=True)
    weight: Decimal
    columns: dict[str, str] = {}


class Side(NamedTuple):
    x: int
    y: int


UNLIKE: tuple[Any, ...] = (
    None, True, 1, 1.0, "1", b"1", Decimal(1), Decimal("1.0"), Fraction(1), Fraction(1, 3), "", (), ("",), ("", ""),
    "True", "None", ("a", "b"), ("ab",), (("a",), "b"), ("a", ("b",)), (("a", "b"),), ("a\x1fb",), ("a\x1f", "b"),
    ("a", "\x1fb"), (1, 2), ("1", "2"), (12,), date(2027, 1, 2), "2027-01-02", Shape.BOX, Shape.BALL, Mark.BOX, "box",
    Jar("a", Decimal(1)), Tin("a", Decimal(1)), Jar("a", Decimal("1.0")), ("a", Decimal(1)), Side(1, 2), (None, None),
    Card(weight=Decimal(1)), Card(weight=Decimal(2)), Card(weight=Decimal(1), columns={"a": "b", "c": "d"}),
    Card(weight=Decimal(1), columns={"c": "d", "a": "b"}), "é", "e\u0301", "\ud800", "s1:a", ("s1:a",), 0.0, -0.0,
)  # fmt: skip


def test_values_that_differ_in_type_grouping_or_value_have_different_keys() -> None:
    keys = {key_of(value): value for value in UNLIKE}
    assert len(keys) == len(UNLIKE)


def test_several_values_are_not_one_value_that_looks_like_them() -> None:
    assert key_of("a", "b") != key_of("ab")
    assert key_of(("a", "b")) != key_of("a", "b")
    assert key_of() != key_of(())


# A small stock of values, so that pairs which are equal or nearly so come up often.
values = st.recursive(
    st.sampled_from([None, True, False, 0, 1, 11, "", "1", "11", "a", b"", b"a", Decimal(1), Decimal("1.0"), "\x1f"]),
    lambda inner: st.lists(inner, max_size=3).map(tuple),
    max_leaves=6,
)


def shown(value: object) -> str:
    """Tell values apart as Python's own notation does, which also tells 1 from True and 1.0 from 1.00."""
    return repr(value)


@given(values, values)
def test_keys_are_equal_exactly_when_the_values_are_written_alike(one: object, other: object) -> None:
    assert (key_of(one) == key_of(other)) == (shown(one) == shown(other))


@given(st.lists(st.text(alphabet="ab\x1f"), max_size=4), st.lists(st.text(alphabet="ab\x1f"), max_size=4))
def test_no_text_in_a_cell_can_pass_for_two_cells(one: list[str], other: list[str]) -> None:
    assert (key_of(tuple(one)) == key_of(tuple(other))) == (one == other)


def test_a_key_is_the_same_in_another_process_with_another_hash_seed() -> None:
    value = "('a', 1, None, ('b', b'c', True))"
    script = f"from listkit.save.job import key_of; print(key_of({value}))"
    told = {
        subprocess.run(
            [sys.executable, "-c", script], check=True, capture_output=True, text=True, env={"PYTHONHASHSEED": seed}
        ).stdout.strip()
        for seed in ("1", "2")
    }
    assert told == {key_of(("a", 1, None, ("b", b"c", True)))}


@dataclass
class Open:
    name: str


@pytest.mark.parametrize(
    "value",
    [Path("a"), ["a"], {"a"}, frozenset("ab"), object(), datetime(2027, 1, 2), Open("a"), print, Jar],  # noqa: DTZ001
)
def test_what_may_change_or_belongs_to_one_machine_has_no_key(value: object) -> None:
    with pytest.raises(TypeError):
        key_of(("a", value))


def recipe(*inputs: object) -> None:
    pass


FILES = (File("a.jpg", "1"), File("b.jpg", "2"), File("c.jpg", "3"))


def test_a_job_with_parts_is_narrowed_to_the_files_that_are_needed() -> None:
    job = Job(recipe, ("photo",), FILES, heavy=True, parts=("one", "two", "three"))
    narrow = job.select((0, 2))
    assert narrow.files == (FILES[0], FILES[2])
    assert narrow.inputs == ("photo", ("one", "three"))
    assert narrow.heavy


def test_a_job_without_parts_stays_whole() -> None:
    job = Job(recipe, ("photo",), FILES)
    assert job.select((1,)) == job
    assert job.inputs == ("photo",)


def test_parts_that_do_not_match_the_files_are_a_mistake() -> None:
    with pytest.raises(ValueError, match="3 files but 1 parts"):
        Job(recipe, (), FILES, parts=("one",))
