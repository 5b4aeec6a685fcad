"""`listkit rename`: a code changes wherever it is one, nothing else does, and the old one goes on being understood."""

import shutil
from pathlib import Path

import openpyxl
import pytest

from listkit.cli import main
from listkit.read.shop import read_shop
from tests.cli.published import bytes_of
from tests.shops import DEMO, clean_shop


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """The demo's files without its pictures, which no rename opens."""
    shop = tmp_path / "demo"
    shutil.copytree(DEMO, shop, ignore=shutil.ignore_patterns("out", "photos"))
    return shop


def rename(shop: Path, *words: str) -> int:
    return main(["rename", "--shop", str(shop), *words])


def lines_of(shop: Path) -> dict[str, list[bytes]]:
    return {file: content.splitlines() for file, content in bytes_of(shop).items()}


def test_an_item_is_renamed_in_every_file_that_names_it_and_nowhere_else(demo: Path) -> None:
    (demo / "sets/first-nectar/story.md").write_text("OH-U01 is only a word here.\n", encoding="utf-8")
    before = bytes_of(demo)
    assert rename(demo, "OH-U01", "OH-BB1", "--apply") == 0
    after = bytes_of(demo)
    changed = {file for file in before if before[file] != after[file]}
    assert changed == {
        "items.csv",
        "channels/stall.toml",
        "ingredients.csv",
        "languages/fr.toml",
        "recipes.csv",
        "sets/first-nectar/set.toml",
        "sets/lamp-lighting/set.toml",
        "wholesale.toml",
    }
    for file in changed - {"items.csv"}:
        assert after[file] == before[file].replace(b"OH-U01", b"OH-BB1"), file
    shop, problems = read_shop(demo)
    assert [problem for problem in problems if problem.code in ("unknown-code", "old-code", "code-twice")] == []
    assert shop.old_codes.now == {"OH-U01": "OH-BB1", "OHS-1-U01": "OHS-1-BB1", "OHS-5-U01": "OHS-5-BB1"}


def test_a_column_of_old_codes_is_added_where_there_is_none_and_used_where_there_is_one(demo: Path) -> None:
    header, *rows = (demo / "items.csv").read_text(encoding="utf-8").splitlines()
    rename(demo, "OH-T01", "OH-H01", "--apply")
    new_header, *new_rows = (demo / "items.csv").read_text(encoding="utf-8").splitlines()
    assert new_header == f"{header},old codes"
    for row, new_row in zip(rows, new_rows, strict=True):
        assert new_row == (f"{row},".replace("OH-T01", "OH-H01") + "OH-T01" if row.startswith("OH-T01") else f"{row},")
    rename(demo, "OH-H01", "OH-K01", "--apply")
    last = (demo / "items.csv").read_text(encoding="utf-8").splitlines()
    assert last[0] == new_header
    assert next(row for row in last if row.startswith("OH-K01")).endswith(",OH-T01; OH-H01")


def test_a_set_keeps_its_comments_and_its_lines_and_is_renamed_back_the_same_way(demo: Path) -> None:
    file = demo / "sets/first-nectar/set.toml"
    file.write_text(f"# OHS-1, the first one\n{file.read_text(encoding='utf-8')}", encoding="utf-8", newline="\r\n")
    before = bytes_of(demo)
    assert rename(demo, "OHS-1", "OHS-01", "--apply") == 0
    text = file.read_bytes().decode()
    assert text.startswith('# OHS-1, the first one\r\ncode = "OHS-01"\r\nold_codes = ["OHS-1"]\r\nname')
    assert b"[sets.OHS-01]" in (demo / "languages/fr.toml").read_bytes()
    assert b'"OHS-7-B04"' in (demo / "channels/stall.toml").read_bytes()
    assert rename(demo, "OHS-01", "OHS-1", "--apply") == 0
    assert file.read_bytes().decode() == before["sets/first-nectar/set.toml"].decode().replace(
        'code = "OHS-1"\r\n', 'code = "OHS-1"\r\nold_codes = ["OHS-01"]\r\n'
    )
    assert {name: content for name, content in bytes_of(demo).items() if "first-nectar" not in name} == {
        name: content for name, content in before.items() if "first-nectar" not in name
    }


def test_codes_of_variants_that_are_written_down_follow(demo: Path) -> None:
    assert rename(demo, "OHS-7", "OHS-GB", "--apply") == 0
    assert 'leave_out = ["OHS-GB-B04"]' in (demo / "channels/stall.toml").read_text(encoding="utf-8")
    assert read_shop(demo)[0].old_codes.now["OHS-7-B04"] == "OHS-GB-B04"


def test_nothing_is_written_until_it_is_asked_for(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = bytes_of(demo)
    assert rename(demo, "OHS-1", "OHS-01") == 0
    told = capsys.readouterr()
    assert told.out.splitlines()[:2] == ["sets/first-nectar/set.toml", "  line 1: OHS-1 → OHS-01"]
    assert told.out.splitlines()[-1] == "7 places in 5 files."
    assert told.err.splitlines()[-1] == "Nothing was written; --apply writes them."
    assert bytes_of(demo) == before


def test_where_the_new_code_is_stated_already_the_rest_is_written(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    sheet = shop / "items.csv"
    header, *rows = sheet.read_text(encoding="utf-8").splitlines()
    rows = [f"{row},RR-J2".replace("RR-J2,", "RR-WM,", 1) if row.startswith("RR-J2") else f"{row}," for row in rows]
    sheet.write_text("\n".join([f"{header},old codes", *rows]) + "\n", encoding="utf-8")
    stated = sheet.read_bytes()
    assert rename(shop, "RR-J2", "RR-WM", "--apply") == 0
    assert sheet.read_bytes() == stated
    assert "RR-J2" not in (shop / "sets/dawn/set.toml").read_text(encoding="utf-8")
    assert [problem for problem in read_shop(shop)[1] if problem.code == "old-code"] == []


def test_a_sheet_of_another_kind_keeps_its_separator_its_quotes_and_its_letters(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    sheet = shop / "items.csv"
    text = sheet.read_text(encoding="utf-8").replace("external-use;", "").replace(",", ";")
    text = text.replace("RR-J1;Willow Bark", '"RR-J1";"Crème; Saule"')
    sheet.write_bytes(text.replace("\n", "\r\n").encode("windows-1252"))
    assert rename(shop, "RR-J1", "RR-WB", "--apply") == 0
    lines = sheet.read_bytes().decode("windows-1252").split("\r\n")
    assert lines[0].endswith(";old codes")
    assert lines[2].startswith('"RR-WB";"Crème; Saule";')
    assert lines[2].endswith(";RR-J1")
    assert ";RR-WB;yes;" in lines[4]  # its mini names the full size


def test_a_workbook_is_typed_by_its_owner(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = clean_shop(tmp_path / "shop")
    book = openpyxl.Workbook()
    assert book.active is not None
    for row in (shop / "items.csv").read_text(encoding="utf-8").splitlines():
        book.active.append(row.split(","))
    book.save(shop / "items.xlsx")
    (shop / "items.csv").unlink()
    before = bytes_of(shop)
    assert rename(shop, "RR-J1", "RR-WB", "--apply") == 1
    told = capsys.readouterr().err
    assert "items.xlsx is a workbook, which is yours to change. Type there:" in told
    assert [line.strip() for line in told.splitlines() if line.startswith("  ")] == [
        "A3: RR-WB", "K5: RR-WB", "M1: old codes", "M3: RR-J1"
    ]  # fmt: skip
    assert bytes_of(shop) == before


REFUSED = {
    ("RR-B9", "RR-X"): 'there is no item or set "RR-B9".',
    ("RRB1", "RR-X"): 'Perhaps "RR-B1" is meant.',
    ("RR-B1", "RR-J1"): "RR-J1 is the code of an item.",
    ("RR-B1", "RRS-1"): "RRS-1 is the code of a set.",
    ("RR-B1", "S"): "S is the code of a box.",
    ("RR-B1", "RR-B1"): "RR-B1 is already its code.",
    ("RR-B1", "a b"): '"a b" is not a code.',
    ("RRS-1-J1", "RRS-1-X"): "RRS-1-J1 is a variant's code, which follows from those of its set and options.",
    ("RR-J1", "XX-J2"): "RRS-1-J1 would become RRS-1-J2, which is the code of a variant.",
    ("RR-B1", "RRS-1-J1"): "RRS-1-J1 is the code of a variant.",
    ("RRS-1", "RR"): "RRS-1-J1 would become RR-J1, which is the code of an item.",
    ("RR-B1", "smallest"): "smallest is a word that sets have for boxes.",
    ("RR-B1", "RR-OLD"): "RR-OLD is an old code of RR-J2: what still goes by it would mean two things.",
}


@pytest.mark.parametrize(("codes", "words"), REFUSED.items(), ids=[" ".join(codes) for codes in REFUSED])
def test_what_cannot_be_is_told_and_nothing_changes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], codes: tuple[str, str], words: str
) -> None:
    shop = clean_shop(tmp_path / "shop")
    rename(shop, "RR-J2", "RR-OLD", "--apply")
    rename(shop, "RR-OLD", "RR-J2", "--apply")
    before = bytes_of(shop)
    capsys.readouterr()
    assert rename(shop, *codes, "--apply") == 1
    assert words in capsys.readouterr().err
    assert bytes_of(shop) == before


def test_a_file_that_names_it_and_cannot_be_read_is_mended_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    terms = shop / "wholesale.toml"
    terms.write_text(terms.read_text(encoding="utf-8") + "\nnonsense", encoding="utf-8")
    before = bytes_of(shop)
    assert rename(shop, "RR-B1", "RR-B7", "--apply") == 1
    assert "wholesale.toml names such a code and cannot be read." in capsys.readouterr().err
    assert bytes_of(shop) == before


def test_on_a_read_only_file_nothing_changes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk refuses the last file: none of the others has changed by then."""
    shop = clean_shop(tmp_path / "shop")
    before = bytes_of(shop)
    write = Path.write_bytes

    def full(path: Path, content: bytes) -> int:
        if b"lines" in content:
            raise OSError(28, "No space left on device")
        return write(path, content)

    monkeypatch.setattr(Path, "write_bytes", full)
    assert rename(shop, "RR-B1", "RR-B7", "--apply") == 1
    assert "files cannot be written to, and are as they were: No space left on device." in capsys.readouterr().err
    monkeypatch.undo()
    assert bytes_of(shop) == before


CORNERS = {
    "a bracket in a comment of the list": (
        'old_codes = [ # the first ones\n  "RRS-A", # [2024]\n]\n',
        'old_codes = ["RRS-1",  # the first ones\n  "RRS-A", # [2024]\n]\n',
    ),
    "a list on one line": ('old_codes = ["RRS-A"]\n', 'old_codes = ["RRS-1", "RRS-A"]\n'),
}


@pytest.mark.parametrize("corner", CORNERS)
def test_an_old_code_is_put_before_those_that_are_there(tmp_path: Path, corner: str) -> None:
    before, after = CORNERS[corner]
    shop = clean_shop(tmp_path / "shop")
    file = shop / "sets/dawn/set.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('code = "RRS-1"\n', f'code = "RRS-1"\n{before}'), encoding="utf-8")
    assert rename(shop, "RRS-1", "RRS-2", "--apply") == 0
    assert file.read_text(encoding="utf-8") == text.replace('code = "RRS-1"\n', f'code = "RRS-2"\n{after}')


def test_a_code_that_is_not_written_letter_for_letter_is_changed_by_hand(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = clean_shop(tmp_path / "shop")
    file = shop / "sets/dawn/set.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('"RR-B1"', '"RR\\u002DB1"'), encoding="utf-8")
    before = bytes_of(shop)
    assert rename(shop, "RR-B1", "RR-B7", "--apply") == 1
    assert (
        "sets/dawn/set.toml: the code in line ? cannot be changed alone. Change it by hand." in capsys.readouterr().err
    )
    assert bytes_of(shop) == before


def test_short_rows_are_filled_up_to_the_new_column(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    sheet = shop / "items.csv"
    sheet.write_text(
        sheet.read_text(encoding="utf-8").replace("external-use;avoid-eyes,,no\n", "external-use;avoid-eyes\n"),
        encoding="utf-8",
    )
    assert rename(shop, "RR-B1", "RR-B7", "--apply") == 0
    assert sheet.read_text(encoding="utf-8").splitlines()[1].endswith(",external-use;avoid-eyes,,,RR-B1")
    assert read_shop(shop)[0].old_codes.now["RR-B1"] == "RR-B7"


def test_a_rename_by_hand_finds_the_variants_that_followed(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    stall = shop / "channels/stall.toml"
    stall.write_text(f'leave_out = ["RRS-1-J1"]\n{stall.read_text(encoding="utf-8")}', encoding="utf-8")
    assert rename(shop, "RR-J1", "RR-WB", "--apply") == 0
    assert 'leave_out = ["RRS-1-WB"]' in stall.read_text(encoding="utf-8")
    stall.write_text(stall.read_text(encoding="utf-8").replace("RRS-1-WB", "RRS-1-J1"), encoding="utf-8")
    assert rename(shop, "RR-J1", "RR-WB", "--apply") == 0
    assert 'leave_out = ["RRS-1-WB"]' in stall.read_text(encoding="utf-8")


def test_a_code_of_which_a_remark_is_accepted_is_renamed_there_too(demo: Path) -> None:
    entry = '\n[[accepted]]\ncheck = "band-missed"\nat = "{}" # here\nreason = "OH-U01 as it is"\n'
    text = (demo / "shop.toml").read_text(encoding="utf-8")
    (demo / "shop.toml").write_text(text + entry.format("OH-U01"), encoding="utf-8")
    assert rename(demo, "OH-U01", "OH-BB1", "--apply") == 0
    assert (demo / "shop.toml").read_text(encoding="utf-8") == text + entry.format("OH-BB1")
