"""shop.toml is read whole or in part: the other files need its currency and seasons, whatever is wrong in it."""

from pathlib import Path

import pytest

from listkit.model.settings import Settings
from listkit.read.parts import SettingsRead, read_settings, settle_settings
from listkit.read.shop import read_shop
from listkit.units.money import NO_CURRENCY
from tests.shops import CLEAN, clean_shop, edited, lines

TEXT = (CLEAN / "shop.toml").read_text(encoding="utf-8")


def read(root: Path, text: str | bytes) -> tuple[SettingsRead, list[str]]:
    clean_shop(root, {"shop.toml": text})
    settings, problems = read_settings(root, "shop.toml")
    return settings, lines(problems)


def settled(root: Path, more: str) -> tuple[Settings, list[str]]:
    said, told = read(root, TEXT.replace("[prices]", f"{more}\n[prices]"))
    settings, problems = settle_settings(root, said)
    return settings, told + lines(problems)


def test_sound_settings_are_read_with_money_in_their_currency(tmp_path: Path) -> None:
    said, told = read(tmp_path, TEXT)
    assert (told, said.lost) == ([], frozenset())
    assert said.settings.prices.uplift is not None
    assert said.settings.prices.uplift.currency == "GBP"


def test_what_is_broken_goes_and_the_rest_stays(tmp_path: Path) -> None:
    said, told = read(tmp_path, TEXT.replace('"1.00"', '"1,00"').replace('country = "GB"', "sesaon = 1"))
    assert [line.rpartition("  ")[2] for line in told] == ["missing-key", "bad-value", "unknown-key"]
    assert (said.settings.name, said.settings.currency) == ("Reed & Rushlight", "GBP")
    assert (said.settings.prices.uplift, said.settings.prices.lowest_margin > 0) == (None, True)
    assert said.lost == frozenset()


def test_a_broken_season_is_lost_and_the_others_stay(tmp_path: Path) -> None:
    more = '\n[[season]]\nname = "autumn"\non_sale = "soon"\noff_sale = 2027-11-01\n'
    said, told = read(tmp_path, TEXT + more)
    assert len(told) == 1
    assert [season.name for season in said.settings.seasons] == ["spring"]
    assert said.lost == {"season"}


@pytest.mark.parametrize(
    ("text", "currency"),
    [
        (TEXT.replace('name = "Reed', "name = Reed"), "GBP"),
        ('currency = "EUR\n', "EUR"),
        ("currency = JPY", "JPY"),
        ('currency = "QQQ"\nname = x', NO_CURRENCY),
        ("", NO_CURRENCY),
        ("currency = 7", NO_CURRENCY),
        ('currency = ["GBP"]', NO_CURRENCY),
        (b"\xff\xfe", NO_CURRENCY),
    ],
)
def test_the_currency_is_saved_from_a_broken_file_where_it_can_be(
    tmp_path: Path, text: str | bytes, currency: str
) -> None:
    said, told = read(tmp_path, text)
    assert told
    assert said.settings.currency == currency


def test_without_a_file_there_are_stand_ins_and_no_second_problem(tmp_path: Path) -> None:
    said, problems = read_settings(tmp_path, "")
    assert (said.settings.currency, problems) == (NO_CURRENCY, [])
    assert said.lost == {"items", "season", "making"}


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('[shots]\nrequired = ["opne box"]', 'line 9: there is no shot "opne box". Write "open box".  bad-value'),
        ('[items.columns]\nOurs = "nmae"', 'line 9: Ours: we have no column "nmae". Write "name".  bad-value'),
    ],
)  # fmt: skip
def test_names_that_stand_for_nothing_are_told_where_they_stand(tmp_path: Path, more: str, told: str) -> None:
    assert settled(tmp_path, f"\n{more}")[1] == [f"Must fix · shop.toml, {told}"]


def test_a_heading_that_stands_for_nothing_on_purpose_is_fine(tmp_path: Path) -> None:
    assert settled(tmp_path, '\n[items.columns]\nStatus = ""')[1] == []


def test_a_logo_must_be_a_file_of_the_folder(tmp_path: Path) -> None:
    settings, told = settled(tmp_path, 'logo = "logo.png"')
    assert settings.logo == ""
    assert told == [
        'Must fix · shop.toml, line 7: there is no file "logo.png". Put it there, or mend the name.  file-missing'
    ]
    (tmp_path / "logo.png").write_bytes(b"")
    assert settled(tmp_path, 'logo = "logo.png"')[0].logo == "logo.png"


def test_two_seasons_of_one_name_are_told(tmp_path: Path) -> None:
    more = '\n[[season]]\nname = "spring"\non_sale = 2028-02-01\noff_sale = 2028-05-01\n'
    changed = edited("shop.toml", "off_sale = 2027-05-31\n", f"off_sale = 2027-05-31\n{more}")
    said, _ = read(tmp_path, str(changed["shop.toml"]))
    assert lines(settle_settings(tmp_path, said)[1]) == [
        'Must fix · shop.toml, line 19: two seasons are called "spring". Give each its own name.  code-twice'
    ]


def test_an_own_heading_that_the_table_has_not_is_told_in_the_shop_file(tmp_path: Path) -> None:
    own = '[items.columns]\n"Nmae" = "name"\nForm = "form"\nWeight = "weight"\nSeller = "container"\n\n[prices]'
    root = clean_shop(tmp_path, edited("shop.toml", "[prices]", own))
    assert lines(read_shop(root)[1]) == [
        'Must fix · shop.toml, line 8: items.csv has no heading "Nmae". Write "name".  bad-value',
        'Must fix · shop.toml, line 11: items.csv has no heading "Seller". Its headings are code, name, form, net, '
        "retail, cost, weight (g), size (mm), on hand, cautions, larger and upright.  bad-value",
    ]


@pytest.mark.parametrize("year", ["0001", "1899", "2200", "9999"])
def test_a_day_of_a_year_that_nobody_means_is_told(tmp_path: Path, year: str) -> None:
    season = f'[[season]]\nname = "long"\non_sale = 2027-02-15\noff_sale = {year}-12-31\n'
    (told,) = [line for line in settled(tmp_path, season)[1] if "year" in line]
    assert told.endswith(f"off_sale: the year {int(year)} cannot be meant. Write one from 1900 to 2199.  bad-value")


@pytest.mark.parametrize(
    ("key", "sign"), [("phone", "u0000"), ("phone", "u001b"), ("region", "b"), ("address", "u007f")]
)
def test_a_sign_that_steers_machines_is_in_no_text(tmp_path: Path, key: str, sign: str) -> None:
    """Any text of TOML may hold them as an escape (TOML 1.0, String), and a feed in XML then has no parser."""
    lines_of = [line for line in TEXT.splitlines() if not line.startswith(f"{key} =")]
    _, told = read(tmp_path, "\n".join([f'{key} = "a\\{sign}[31m"', *lines_of]))
    code = {"b": "0008"}.get(sign, sign.removeprefix("u")).upper()
    assert told == [
        f"Must fix · shop.toml, line 1: {key}: it holds U+{code}, a sign that steers machines. Take it out.  bad-value"
    ]


@pytest.mark.parametrize("number", ["1e-400", "1e-3", "2E5", "nan", "-inf", "+inf", "5", "1.5", "true", "2027-02-01"])
def test_what_is_no_text_is_in_none(tmp_path: Path, number: str) -> None:
    """TOML 1.0 has floats in powers of ten, inf and nan; buyers would read them."""
    lines_of = [line for line in TEXT.splitlines() if not line.startswith("phone =")]
    _, told = read(tmp_path, "\n".join([f"phone = {number}", *lines_of]))
    (line,) = told
    assert line.startswith(f"Must fix · shop.toml, line 1: phone: {number} is not a text. Write it in quotes")


@pytest.mark.parametrize("sign", ["202A", "202B", "202D", "202E", "2066", "2067", "2068"])
def test_a_text_that_turns_the_writing_turns_it_back(tmp_path: Path, sign: str) -> None:
    """Each of the seven signs of Unicode Standard Annex 9 that open what a page would leave open."""
    lines_of = [line for line in TEXT.splitlines() if not line.startswith("phone =")]
    _, told = read(tmp_path, "\n".join([f'phone = "a\\u{sign}b"', *lines_of]))
    (line,) = told
    assert line.startswith(f"Must fix · shop.toml, line 1: phone: a sign that nobody sees (U+{sign}, ")
    _, told = read(tmp_path, "\n".join([f'phone = "a\\u{sign}b\\u202c\\u2069"', *lines_of]))
    assert told == []


def test_choices_that_are_numbers_are_named(tmp_path: Path) -> None:
    labels = '[labels]\nsize = "140 x 100 mm"\nsheet = "A4"\nfaces = 3\n'
    (told,) = [line for line in settled(tmp_path, labels)[1] if "faces" in line]
    assert told.endswith("faces: 3 is not one of the choices. Write 1 or 2.  bad-value")


@pytest.mark.parametrize(("typed", "instead"), [("[prices.labels]", "[labels]"), ("[[prices.season]]", "[[season]]")])
def test_a_table_within_another_is_told_how_it_stands_alone(tmp_path: Path, typed: str, instead: str) -> None:
    (told,) = [line for line in read(tmp_path, f"{TEXT}\n{typed}\nname = 1\n")[1] if "unknown-key" in line]
    assert f"Write {instead}: it belongs to the whole file." in told


def test_a_value_within_a_table_is_not_told_to_be_a_table_of_the_whole_file(tmp_path: Path) -> None:
    (told,) = [line for line in read(tmp_path, f'{TEXT}\n[labels]\nseasn = "spring"\n')[1] if "seasn" in line]
    assert "[[season]]" not in told
    assert '"season"' not in told
    assert "Keys here are " in told


@pytest.mark.parametrize(
    ("text", "waits"), [(f'{TEXT}\nx = """abc\n', True), (b"caf\xe9\x81\n", True), (f'{TEXT}\nx = "abc\n', False)]
)
def test_where_nothing_can_be_known_of_it_that_the_rest_waits_is_said(
    text: str | bytes, waits: bool, tmp_path: Path
) -> None:
    """A quotation mark may be closed by guess, so that what is behind it is told at once; a text of lines may not."""
    _, told = read(tmp_path, text)
    assert ["What rests on it is checked after that." in line for line in told] == [waits]
