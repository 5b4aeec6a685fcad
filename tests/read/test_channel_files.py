"""Channel files: the key is the file's stem, which must be fit to name a folder of output."""

from pathlib import Path

import pytest

from listkit import bounds
from listkit.read.parts import read_channels
from listkit.read.shop import read_shop
from tests.shops import clean_shop, lines

STALL = 'name = "Market stall"\nmake = ["price list"]\n'


def test_a_channel_is_called_by_its_files_stem(tmp_path: Path) -> None:
    clean_shop(tmp_path, {"channels/web_shop.toml": STALL + 'fixed_fee = "0.35"\n'})
    channels, problems = read_channels(tmp_path, ("channels/stall.toml", "channels/web_shop.toml"), "GBP")
    assert problems == []
    assert [channel.key for channel in channels] == ["stall", "web_shop"]
    assert channels[1].fixed_fee is not None
    assert channels[1].fixed_fee.currency == "GBP"


def test_a_broken_channel_is_left_out_and_the_others_stay(tmp_path: Path) -> None:
    clean_shop(tmp_path, {"channels/a.toml": STALL + 'key = "b"', "channels/b.toml": b"\xff"})
    channels, problems = read_channels(tmp_path, ("channels/a.toml", "channels/b.toml", "channels/stall.toml"), "GBP")
    assert [channel.key for channel in channels] == ["stall"]
    assert [problem.code for problem in problems] == ["unknown-key", "encoding"]


@pytest.mark.parametrize("key", ["Web", "a b", "a.b", "_a", "a_", "é"])
def test_a_key_that_cannot_name_a_folder_of_output_is_told(tmp_path: Path, key: str) -> None:
    clean_shop(tmp_path, {f"channels/{key}.toml": STALL})
    channels, problems = read_channels(tmp_path, (f"channels/{key}.toml",), "GBP")
    assert channels == ()
    assert lines(problems) == [
        f'Must fix · channels/{key}.toml: "{key}" cannot be a channel\'s key. '
        'Name the file with small letters and digits, _ between them, as in "web_shop.toml".  bad-value'
    ]


@pytest.mark.parametrize(
    ("key", "why"),
    [
        ("wholesale", "a folder of the build is called that"),
        ("print", "a folder of the build is called that"),
        ("con", "some systems keep that name for themselves"),
    ],
)
def test_a_key_that_is_taken_is_told_by_whom(tmp_path: Path, key: str, why: str) -> None:
    clean_shop(tmp_path, {f"channels/{key}.toml": STALL})
    assert lines(read_channels(tmp_path, (f"channels/{key}.toml",), "GBP")[1]) == [
        f'Must fix · channels/{key}.toml: "{key}" cannot be a channel\'s key: {why}. '
        'Name the file as in "web_shop.toml".  bad-value'
    ]


def test_a_separator_that_is_none_is_told_with_a_tab_as_the_file_writes_it(tmp_path: Path) -> None:
    clean_shop(tmp_path, {"channels/a.toml": STALL + 'dialect.separator = "tab"\n'})
    _, problems = read_channels(tmp_path, ("channels/a.toml",), "GBP")
    [told] = lines(problems)
    assert told.endswith(r'"tab" is not one of the choices. Write ",", ";", "\t" or "|".  bad-value')


@pytest.mark.parametrize(
    ("figure", "says"),
    [
        ("width = 0", "width: it is zero. Write a whole number above zero"),
        ("width = 400\nlargest_kb = 0", "largest_kb: it is zero. Write a whole number above zero"),
        ("width = 400\nquality = 0", "quality: 0 is no quality. Write a whole number from 1 to 100."),
        ('width = 400\nmost_ground = "100 %"', "most_ground: 100 % leaves nothing of the photo. Write less than 100 %"),
        ("width = 400\nquality = 101", "quality: 101 is no quality. Write a whole number from 1 to 100."),
    ],
)
def test_a_crop_of_a_figure_that_makes_no_picture_is_told(tmp_path: Path, figure: str, says: str) -> None:
    """Zero pixels and no bytes hold no picture; the scale of quality is that of the encoders (Pillow's handbook)."""
    crop = f'[[crop]]\nname = "square"\nratio = "1:1"\n{figure}\n'
    clean_shop(tmp_path, {"channels/a.toml": f'name = "Own shop"\nmake = ["photos"]\n{crop}'})
    channels, problems = read_channels(tmp_path, ("channels/a.toml",), "GBP")
    assert channels == ()
    [told] = lines(problems)
    assert says in told


def test_what_places_list_is_bounded_over_all_and_those_behind_are_left_out_with_one_word(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    clean_shop(tmp_path)
    texts = {"a": "[singles]\nitems = ['RR-B1']\n", "b": "", "c": "", "d": ""}
    for key, more in texts.items():
        text = f'name = "Place {key}"\nmake = ["price list"]\n{more}'
        (tmp_path / f"channels/{key}.toml").write_text(text)
    of_set, alone = 20 + 2, 20 + 1  # a set of two variants, a piece: each listing counts for twenty variants
    monkeypatch.setattr(bounds, "AT_PLACES", of_set + alone + of_set)
    shop, problems = read_shop(tmp_path)
    assert [channel.key for channel in shop.channels] == ["a", "b"]
    assert {"c", "d", "stall"} <= shop.left_out.channels
    assert [problem.place.file for problem in problems] == ["channels/c.toml"]
    assert "it lists 1 sets and pieces with 2 variants, too many beside" in problems[0].message
