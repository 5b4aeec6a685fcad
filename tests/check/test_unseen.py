"""Signs that nobody sees, in names and choices; names of signs from the Unicode Character Database."""

import datetime
from pathlib import Path

import pytest

from listkit.problem import Problem
from tests.checked import problems_of
from tests.shops import clean_shop, edited

DAY = datetime.date(2027, 3, 1)


def unseen(folder: Path, path: str, old: str, new: str) -> list[Problem]:
    return [one for one in problems_of(clean_shop(folder, edited(path, old, new)), DAY) if one.code == "letter-unseen"]


@pytest.mark.parametrize(("name", "said"), [
    ("Wat\u200ber Mint", 'behind "Wat" stands a sign that nobody sees (U+200B, zero width space).'),
    ("\u202eWater Mint\u202c", 'before "Water Mint" stands a sign that nobody sees (U+202E, right-to-left override).'),
    ("Water\u2066 Mint\u2069", 'behind "Water" stands a sign that nobody sees (U+2066, left-to-right isolate).'),
    ("Water Mint\u2060", 'behind "Water Mint" stands a sign that nobody sees (U+2060, word joiner).'),
    ("Water\u200d Mint", 'behind "Water" stands a sign that nobody sees (U+200D, zero width joiner).'),
    ("Wa\u3164ter Mint", 'behind "Wa" stands a sign that nobody sees (U+3164, hangul filler).'),
    ("Wat\u034fer Mint", 'behind "Wat" stands a sign that nobody sees (U+034F, combining grapheme joiner).'),
    ("Water\ufe0f Mint", 'behind "Water" stands a sign that nobody sees (U+FE0F, variation selector-16).'),
    ("Water\u2800 Mint", 'behind "Water" stands a sign that nobody sees (U+2800, braille pattern blank).'),
    ("Water\u2028Mint", 'behind "Water" stands a sign that nobody sees (U+2028, a line end).'),
    ("Water\x85Mint", 'behind "Water" stands a sign that nobody sees (U+0085, a line end).'),
    ("Water Mint\u200f", 'behind "Water Mint" stands a sign that nobody sees (U+200F, right-to-left mark).'),
])  # fmt: skip
def test_a_name_with_a_sign_that_nobody_sees_is_told_with_its_place(tmp_path: Path, name: str, said: str) -> None:
    [found] = unseen(tmp_path, "items.csv", "Water Mint", name)
    assert (found.message, found.hint) == (said, 'Type "Water Mint" anew.')
    assert str(found.place) == "items.csv, row RR-J2, column name"


def test_a_line_end_in_a_cell_is_told(tmp_path: Path) -> None:
    [found] = unseen(tmp_path, "items.csv", "Water Mint", '"Water\nMint"')
    said = 'behind "Water" stands a sign that nobody sees (U+000A, a line end).'
    assert (found.message, found.hint) == (said, 'Type "Water Mint" anew.')


@pytest.mark.parametrize("name", [
    "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",  # a Persian word with the joiner that parts its stems
    "\u0915\u094d\u200d\u0937",  # Devanagari, half a letter
    "\u05e9\u05d5\u05e7\u05d5\u05dc\u05d3\u200f!",  # Hebrew, a mark that keeps the sign on its side
    "\u0e2a\u0e1a\u0e39\u0e48\u200b\u0e2b\u0e2d\u0e21",  # Thai, where words are parted without a space
    "Sea Mist \U0001f469\u200d\U0001f33e",  # a joined pictogram
    "Sea Mist \u2764\ufe0f 1\ufe0f\u20e3 \u00a9\ufe0f \u2194\ufe0f \u203c\ufe0f \u2049\ufe0f",  # pictograms in colour
    "\u845b\U000e0100\u57ce",  # a form of an ideograph
    "\u05d9\u05b0\u05e8\u05d5\u05bc\u05e9\u05c1\u05b8\u05dc\u05b7\u034f\u05b4\u05dd",  # Hebrew, points
])  # fmt: skip
def test_what_a_script_needs_is_left_alone(tmp_path: Path, name: str) -> None:
    assert unseen(tmp_path, "items.csv", "Water Mint", name) == []


def test_marks_heaped_upon_one_letter_are_told(tmp_path: Path) -> None:
    [found] = unseen(tmp_path, "items.csv", "Water Mint", "Wate" + "\u0301\u0302" * 50 + "r Mint")
    said = 'behind "Wate" stand 100 marks upon one letter, over the lines around it.'
    assert (found.message, str(found.place)) == (said, "items.csv, row RR-J2, column name")


@pytest.mark.parametrize(("old", "new"), [
    ('name = "Dawn on the Weir"', 'name = "Dawn on\u200b the Weir"'),
    ('theme = "The quiet', 'theme = "The\u202d\u202c quiet'),
    ('"spring gift"', '"spring\u00ad gift"'),
    ('slot = "Jar"', 'slot = "J\u200bar"'),
    ('"RR-J1", "RR-J2"', '"RR-J1", { item = "RR-J2", says = "Water\u200b Mint" }'),
])  # fmt: skip
def test_what_a_set_says_is_looked_at_as_well(tmp_path: Path, old: str, new: str) -> None:
    text = edited("sets/dawn/set.toml", old, new)["sets/dawn/set.toml"]
    assert isinstance(text, str)
    text = text.replace("options = { Jar", 'options = { "J\u200bar"') if "J\u200bar" in new else text
    found = problems_of(clean_shop(tmp_path, {"sets/dawn/set.toml": text}), DAY)
    [place] = [one.place for one in found if one.code == "letter-unseen"]
    assert place.file == "sets/dawn/set.toml"


def test_options_that_differ_in_nothing_to_be_seen_are_twins(tmp_path: Path) -> None:
    """Codes in which such a sign stands are refused by their own rule."""
    found = problems_of(clean_shop(tmp_path, edited("items.csv", "Water Mint", "Willow\u200b Bark")), DAY)
    assert {"option-twins", "letter-unseen"} <= {one.code for one in found}
