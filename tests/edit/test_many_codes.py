"""Other codes in a file cost in step with how many there are. Our own rule: no source."""

from listkit.edit.codes import with_codes
from tests.test_every_file_in_step import FEW, MANY, MOST_GROWTH, steps


def cost(size: int) -> int:
    """Return the steps of renaming in a list of so many codes, each of another item, all named."""
    codes = [f"B{at}" for at in range(size)]
    text = "".join(f'[[contents]]\nitem = "{code}"\n' for code in codes)
    paths: dict[tuple[str | int, ...], str] = {("contents", at, "item"): code for at, code in enumerate(codes)}
    changed: list[str] = []

    def work() -> None:
        changed.append(with_codes(text, paths, {code: f"N{code}" for code in codes})[0])

    taken = steps(work)
    assert changed[-1] == text.replace('"B', '"NB')
    return taken


def test_codes_that_change_are_looked_up() -> None:
    cost(3)  # makes what is made once
    few, many = cost(FEW), cost(MANY)
    assert many < MOST_GROWTH * few, (few, many)
