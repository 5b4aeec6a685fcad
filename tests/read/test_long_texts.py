"""Lines and lists far beyond what a shop needs: told with their place, and no command takes long over them."""

from datetime import date
from pathlib import Path

import pytest

from listkit.read.as_mended import usual_text
from tests.checked import problems_of
from tests.shops import CLEAN, clean_shop

SET, STORY, SHEET = "sets/dawn/set.toml", "sets/dawn/story.md", "items.csv"


def told(folder: Path, path: str, old: str, new: str) -> list[str]:
    text = (CLEAN / path).read_text(encoding="utf-8")
    assert old in text
    shop = clean_shop(folder, {path: text.replace(old, new, 1)})
    return [f"{one}  {one.code}" for one in problems_of(shop, date(2027, 3, 1))]


@pytest.mark.parametrize(("path", "old", "new", "said"), [
    (SET, "Dawn on", "D" * 300_000 + " on", "line 2: name: it has 300012 characters. Write at most 20000.  bad-value"),
    (SET, '"river soap"', ",".join(f'"k{n}"' for n in range(60_000)), "line 6: keywords: it has 60001 entries. "
     "Write at most 500.  bad-value"),
    (SHEET, "Water Mint", "W" * 100_000, "row RR-J2, column name: it has 100000 characters. "
     "1 set is left out with it. Write at most 20000.  bad-value"),
    (SHEET, "external-use;avoid-eyes", "external-use;" * 9000, "row RR-B1, column cautions: it has 9000 entries. "
     "1 set is left out with it. Write at most 500.  bad-value"),
    (STORY, "\n", "w" * 2_000_000, "it is larger than 1 MB. Is it the right file?  syntax"),
    (STORY, "\n", "word " * 100_000, "line 1: a template is at most 100,000 characters long. Shorten it.  "
     "template-fault"),
    (STORY, "\n", "{" * 90_000, "line 1: too much stands inside each other, or between {{ and }}. Make it simpler.  "
     "template-fault"),
])  # fmt: skip
def test_what_is_far_too_long_is_told_alone(tmp_path: Path, path: str, old: str, new: str, said: str) -> None:
    between = ": " if said.startswith("it is") else ", "
    assert told(tmp_path, path, old, new) == [f"Must fix · {path}{between}{said}"]


@pytest.mark.parametrize(("path", "old", "new"), [
    (STORY, "\n", "\n" + "[" * 90_000 + "\n"),
    (STORY, "\n", "\n" + "*a " * 30_000 + "\n"),
    (STORY, "\n", "\n" + "first-" * 16_000 + "\n"),
    (SHEET, "\n", "," * 100_000 + "\n"),
    ("shop.toml", "\n", "\n# " + "x" * 1_900_000 + "\n"),
])  # fmt: skip
def test_what_is_only_long_does_no_harm(tmp_path: Path, path: str, old: str, new: str) -> None:
    assert [one for one in told(tmp_path, path, old, new) if "Must fix" in one] == []


def test_a_cell_of_a_million_digits_is_no_usual_one() -> None:
    assert usual_text(["9" * 1_000_002, "5 g", "6 g", "7 g"]) == "6 g"
