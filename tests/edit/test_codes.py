"""Other codes in the owner's TOML: where they stand, on which lines, and in how many steps."""

from listkit.edit.codes import CodeLine, with_codes
from listkit.problem import KeyPath
from tests.steps import calls


def named(size: int) -> tuple[str, dict[KeyPath, str]]:
    """A text that names one code so many times, and the paths where it does."""
    text = "".join('[[photos]]\nfile = "B1"\nshows = ["B1"] # B1\npieces = { B1 = [0.1] }\n' for _ in range(size))
    paths: dict[KeyPath, str] = {("photos", at, "shows", 0): "B1" for at in range(size)}
    return text, paths | {("photos", at, "pieces", "B1"): "B1" for at in range(size)}


def test_each_place_is_told_with_its_line_and_all_else_stays() -> None:
    text, paths = named(2)
    changed, lines = with_codes(text, paths, {"B1": "B01"})
    assert lines == tuple(CodeLine(line, "B1", "B01") for line in (3, 4, 7, 8))
    assert changed.splitlines()[4:] == ["[[photos]]", 'file = "B1"', 'shows = ["B01"] # B1', "pieces = { B01 = [0.1] }"]


def test_a_code_that_is_named_twice_as_often_takes_twice_as_long() -> None:
    """Eight thousand places in one file took 23 s when each value was held against each of them."""

    def steps(size: int) -> int:
        text, paths = named(size)
        return calls(lambda: with_codes(text, paths, {"B1": "B01"}))

    steps(5)
    assert steps(200) < 2.5 * steps(100)
