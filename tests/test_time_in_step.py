"""Time grows in step with size: what a file holds ten times of costs no more than some ten times the steps.

Steps are calls where the work is in Python. Of patterns, whose work no call shows, the worst text that a wall lets
through gets a process of its own with a bounded share of the processor: before the walls it took up to minutes.
"""

import datetime
import os
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from itertools import islice, permutations
from pathlib import Path

import pytest

from listkit.compute.allergens import compared_name
from listkit.compute.ingredients import folded_ingredient
from listkit.compute.materials import split_ingredients
from listkit.listing.template_rules import one_brace
from listkit.model.settings import Settings
from listkit.pipeline import check_shop
from listkit.problem import FieldError
from listkit.read.as_mended import text_as_mended
from listkit.read.headings import fold, our_field, without_unit
from listkit.read.wording import TOO_MANY, perhaps
from listkit.units.amount import Amount
from listkit.units.length import Length, Size
from listkit.units.money import Money
from listkit.units.net import NetContent
from listkit.units.quantity import parse_share
from listkit.units.weight import Weight
from tests.shops import clean_shop
from tests.steps import calls

resource = pytest.importorskip("resource", reason="this system has no bounds for processes")
DAY = datetime.date(2026, 11, 30)
FEW, MANY = 150, 600
MOST_GROWTH = 6.0  # for four times the size; what is quadratic grows sixteenfold


def grown(tmp_path: Path, change: Callable[[Path, int], None]) -> float:
    """Return how many times the steps of a check grow when a change is four times as large."""
    check_shop(clean_shop(tmp_path / "first"), DAY)  # fills what is made once
    steps = []
    for size in (FEW, MANY):
        shop = clean_shop(tmp_path / str(size))
        base = calls(partial(check_shop, shop, DAY))
        change(shop, size)
        steps.append(calls(partial(check_shop, shop, DAY)) - base)
    return steps[1] / steps[0]


def rows(shop: Path, size: int, cells: Callable[[int], str]) -> None:
    sheet = shop / "items.csv"
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(text + "\n".join(map(cells, range(size))) + "\n", encoding="utf-8")


@pytest.mark.parametrize(
    "cells",
    [
        lambda at: f"Q{at},n",
        lambda at: f"Q{at},n,soap,oat,1 blub,,p,q,w,1 x x",
        lambda at: f"{at}" + "," * 400,
    ],
    ids=["short rows", "wrong rows", "long rows"],
)
def test_rows_with_faults_cost_in_step_with_their_number(tmp_path: Path, cells: Callable[[int], str]) -> None:
    assert grown(tmp_path, lambda shop, size: rows(shop, size, cells)) < MOST_GROWTH


def test_codes_that_name_nothing_cost_in_step_with_their_number(tmp_path: Path) -> None:
    """Ever more wrong codes beside ever more right ones: compared with each other they would be a square."""

    def change(shop: Path, size: int) -> None:
        rows(
            shop,
            size,
            lambda at: f"Right-{at},Thing {at},bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use,,no",
        )
        sets = sorted((shop / "sets").iterdir())
        file = sets[0] / "set.toml"
        wrong = "".join(f'\n[[contents]]\nitem = "Wrong-{at}"\n' for at in range(size))
        file.write_text(file.read_text(encoding="utf-8") + wrong, encoding="utf-8")

    assert grown(tmp_path, change) < MOST_GROWTH


def test_silenced_cautions_cost_in_step_with_their_number(tmp_path: Path) -> None:
    """Ever more silences beside ever more pieces: each piece asked of each silence would be a square."""

    def change(shop: Path, size: int) -> None:
        rows(
            shop,
            size,
            lambda at: f"Right-{at},Thing {at},bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use,,no",
        )
        silences = (
            f'\n[[silenced]]\ncaution = "keep-cool"\nitems = ["Right-{at // 8}"]\nreason = "It stays firm."\n'
            for at in range(8 * size)
        )
        file = shop / "shop.toml"
        file.write_text(file.read_text(encoding="utf-8") + "".join(silences), encoding="utf-8")

    assert grown(tmp_path, change) < MOST_GROWTH


def test_near_misses_are_looked_for_among_a_bounded_number_of_alike_codes() -> None:
    """Of codes that are all made of the same letters nobody could say which is meant, so that none is compared."""
    few, many = (frozenset(map("".join, islice(permutations("abcdefgh"), count))) for count in (200, 1_500))
    wrong = "abcdefgx"
    assert perhaps(wrong, few) == 'Perhaps "abcdefgh" is meant.'
    assert perhaps(wrong, many) == ""
    assert perhaps(wrong, frozenset(map("".join, islice(permutations("abcdefgh"), 20_000)))) == TOO_MANY
    assert calls(lambda: perhaps("bacdefgx", many)) < 100_000  # a comparison alone is some forty calls
    assert perhaps("OH-BO1", frozenset({"OH-B01"})) == 'Perhaps "OH-B01" is meant.'
    assert [perhaps("OH-BO1", frozenset({"OH-B01", "OH-S01"})) for _ in range(5_000)][-1], "however often it is asked"


SPACES = " " * 120_000
MOST_SECONDS = 5  # of the processor; each of these texts needs less than one


def ends_in_bounds(work: Callable[[], object]) -> bool:
    """Whether some work in a process of its own ends, with whatever error, before its share of the processor does."""
    if (child := os.fork()) == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        with suppress(FieldError):
            work()
        os._exit(0)
    return os.waitpid(child, 0)[1] == 0


@pytest.mark.parametrize(
    "parse",
    [
        Weight.parse, Size.parse, Length.parse, NetContent.parse, Amount.parse, parse_share,
        lambda text: Money.parse(text, "GBP"),
    ],
    ids=["weight", "size", "length", "net", "amount", "share", "money"],
)  # fmt: skip
@pytest.mark.parametrize("text", [f"6{SPACES}6x", "8x" * 60_000, "6" * 120_000, "1 oz / " * 17_000])
def test_values_beyond_any_length_are_refused_before_a_pattern_sees_them(
    parse: Callable[[str], object], text: str
) -> None:
    assert ends_in_bounds(partial(parse, text))
    with pytest.raises(FieldError):
        parse(text)


@pytest.mark.parametrize("parse", [Weight.parse, NetContent.parse], ids=["weight", "net"])
@pytest.mark.parametrize("text", ["11/11 " * 45, "11/11 " * 40 + "oz / " + "11/11 " * 8, "1 / 1" * 50])
def test_fractions_in_a_row_are_read_in_one_way_alone(parse: Callable[[str], object], text: str) -> None:
    """Each could be parted in four ways, and fourteen of them took hours."""
    assert ends_in_bounds(partial(parse, text))
    with pytest.raises(FieldError):
        parse(text)


@pytest.mark.parametrize("text", [f'name = a{SPACES}"', f"name = a{'b' * 120_000} ]", f"name{SPACES}="])
def test_a_line_that_is_no_toml_is_mended_in_one_walk(text: str) -> None:
    assert ends_in_bounds(partial(text_as_mended, text, Settings))


def test_a_set_behind_empty_lines_is_read(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path)
    file = shop / "sets" / "dawn" / "set.toml"
    file.write_text("\n" * 1_900_000 + file.read_text(encoding="utf-8"), encoding="utf-8")
    assert ends_in_bounds(partial(check_shop, shop, DAY))


@pytest.mark.parametrize("text", ["(" * 120_000, "Aqua " + "(" * 60_000 + ")" * 60_000, f"a{SPACES}(b"])
def test_names_of_open_brackets_and_spaces_are_folded(text: str) -> None:
    for fold_name in (compared_name, folded_ingredient, split_ingredients, fold, without_unit):
        assert ends_in_bounds(partial(fold_name, text)), fold_name
    assert ends_in_bounds(partial(our_field, text, ("code", "name")))


@pytest.mark.parametrize("text", ["{#" * 50_000, "{% raw %}" * 11_000, "#}" + "{#" * 49_000])
def test_remarks_that_are_never_closed_are_walked_once(text: str) -> None:
    assert ends_in_bounds(partial(one_brace, text, ("set",)))
