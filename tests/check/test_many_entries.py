"""Lists of a shop that are walked against others end where no shop's do, and what they name is looked up.

Our own rule: common practice, no source.
"""

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest

from listkit import bounds
from tests.checked import problems_of
from tests.shops import clean_shop

TODAY = datetime.date(2027, 3, 1)


@pytest.mark.parametrize(
    ("file", "entry", "most"),
    [
        ("shop.toml", lambda at: f'[[accepted]]\ncheck = "band-missed"\nat = "A{at}"\nreason = "So."', bounds.ACCEPTED),
        ("shop.toml", lambda at: f'[[evidence]]\nclaim = "vegan {at}"\ndocument = "One"', bounds.EVIDENCE),
        ("shop.toml", lambda at: f'[[silenced]]\ncaution = "c-{at}"\nreason = "So."', bounds.SILENCED),
        ("shop.toml", lambda at: f'[[box_label]]\nbox = "Q{at}"\nsize = "140 x 100 mm"', bounds.BOX_LABELS),
        (
            "shop.toml",
            lambda at: f'[[season]]\nname = "s{at}"\non_sale = 2027-02-01\noff_sale = 2027-05-31',
            bounds.SEASONS,
        ),
        (
            "packaging.toml",
            lambda at: (
                f'[[box]]\ncode = "B{at}"\ninside = "160 x 120 x 70 mm"\nweight = "60 g"\ncost = "0.80"\nminutes = 3'
            ),
            bounds.KINDS_OF_BOX,
        ),
        ("wholesale.toml", lambda at: f'[[tier]]\nfrom = {at + 2}\nwholesale = "40 %"', bounds.TIERS),
    ],
)
def test_a_list_longer_than_any_shops_is_told_with_the_figure(
    file: str, entry: Callable[[int], str], most: int, tmp_path: Path
) -> None:
    shop = clean_shop(tmp_path / "shop")
    with (shop / file).open("a", encoding="utf-8") as stream:
        stream.write("\n" + "\n".join(map(entry, range(most + 1))) + "\n")
    told = [each for each in problems_of(shop, TODAY) if each.place.file == file and each.code == "bad-value"]
    assert [each.hint for each in told] == [f"Write at most {most:,}."]


@pytest.mark.parametrize(
    ("line", "most"),
    [
        ("bands = [{}]", bounds.BANDS),
    ],
)
def test_bands_end_too(line: str, most: int, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    text = (shop / "shop.toml").read_text(encoding="utf-8")
    bands = line.format(", ".join(f'"{at + 1}"' for at in range(most + 1)))
    before = next((each for each in text.splitlines() if each.startswith("bands =")), "[prices]")
    after = bands if before != "[prices]" else f"[prices]\n{bands}"
    (shop / "shop.toml").write_text(text.replace(before, after, 1), encoding="utf-8")
    assert [each.hint for each in problems_of(shop, TODAY) if each.code == "bad-value"] == [f"Write at most {most:,}."]


def test_more_sets_than_any_shop_has_are_told_with_the_figure_and_nothing_follows(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(bounds, "SETS", 3)
    shop = clean_shop(tmp_path / "shop")
    for at in range(4):
        _another_set(shop, at)
    told = [str((each.place.file, each.message)) for each in problems_of(shop, TODAY) if each.code == "bad-value"]
    assert told == [str(("sets/more-2", "this and 1 more are not read: a shop may have 3 sets."))]
    (shop / "wholesale.toml").write_text('[[group]]\ntitle = "All"\nlines = ["M-3"]\n', encoding="utf-8")
    assert not [each for each in problems_of(shop, TODAY) if each.code == "unknown-code"]


def test_more_places_than_any_shop_has_are_told_with_the_figure(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(bounds, "PLACES", 2)
    shop = clean_shop(tmp_path / "shop")
    for key in ("y", "z"):
        (shop / f"channels/{key}.toml").write_text('name = "Fair"\nmake = ["price list"]\n', encoding="utf-8")
    [told] = [each for each in problems_of(shop, TODAY) if each.code == "bad-value"]
    assert (told.place.file, told.message) == ("channels/z.toml", "it is not read: a shop may have 2 places.")


def _another_set(shop: Path, at: int) -> None:
    text = (shop / "sets/dawn/set.toml").read_text(encoding="utf-8").replace('photo = "open-box.png"', "")
    text = text.partition("[[photos]]")[0].replace("RRS-1", f"M-{at}").replace("Dawn on", f"Dawn {at} on")
    folder = shop / f"sets/more-{at}"
    folder.mkdir()
    (folder / "set.toml").write_text(text, encoding="utf-8")
