"""One ZIP for a place: whole and the same everywhere, in pieces, never of two builds, with words for the owner."""

import csv
import io
import os
import re
import shutil
import subprocess
import tomllib
import tracemalloc
import zipfile
from collections.abc import Iterator
from dataclasses import fields, replace
from pathlib import Path

import pytest

from listkit.actions.build import build_shop
from listkit.actions.pack import NOTE, PackedFile, PackWords, pack_of, streamed, write_pack
from listkit.cli import main
from listkit.pipeline import Checked, check_shop
from listkit.problem import BlockedError, FieldError
from listkit.save.made import Journal, Made, read_made, write_made
from listkit.save.manifest import read_manifest, write_manifest
from listkit.save.out_folder import locked, sha256_of
from listkit.shipped import shipped_templates
from listkit.write import FOR_A_PLACE, FOR_SHOPS, WRITERS
from tests.desk.desks import DAY
from tests.shops import clean_shop, small_demo

pytestmark = pytest.mark.usefixtures("pages_are_printed_once")

STALL = """name = "Market stall"
make = ["feed", "listings", "photos", "price list"]

[[crop]]
name = "square"
ratio = "1:1"
width = 40
"""


@pytest.fixture
def built(tmp_path: Path) -> Checked:
    """The clean shop with a place that takes everything, built."""
    shop = clean_shop(tmp_path / "shop", {"channels/stall.toml": STALL})
    checked = check_shop(shop, DAY)
    assert build_shop(checked, shop / "out").failures == ()
    return checked


def out_of(checked: Checked) -> Path:
    return checked.shop.root / "out"


def zipped(checked: Checked, key: str = "stall") -> bytes:
    return b"".join(streamed(pack_of(checked, key, out_of(checked))))


def test_it_holds_what_the_build_made_for_the_place_and_a_note(built: Checked) -> None:
    with zipfile.ZipFile(io.BytesIO(zipped(built))) as archive:
        assert archive.testzip() is None
        names = archive.namelist()
        made = {entry.path.removeprefix("stall/") for entry in read_manifest(out_of(built)) if entry.channel == "stall"}
        assert names[0] == NOTE
        assert set(names[1:]) == made - {"record.jsonl", "photos/contact-sheet.html"}
        assert len(names) == len(set(names))
        for name in names[1:]:
            assert archive.read(name) == (out_of(built) / "stall" / name).read_bytes()
            assert archive.getinfo(name).compress_type == zipfile.ZIP_STORED
        note = archive.read(NOTE).decode()
    for name in names[1:]:
        folder = name.partition("/")[0] + "/" if "/" in name else name
        assert re.search(rf"(?m)^{re.escape(folder)}(  \((1 row|1 file|\d+ (rows|files))\))?$", note), name


def test_the_note_counts_as_a_reader_of_the_zip_does_and_names_each_main_picture(built: Checked) -> None:
    """Rows by the csv module, files by zipfile; one of them is a "file", and pages and JSON have no rows to be seen."""
    with zipfile.ZipFile(io.BytesIO(zipped(built))) as archive:
        note, names = archive.read(NOTE).decode(), archive.namelist()[1:]
        for name in (name for name in names if name.endswith(".csv")):
            rows = len(list(csv.reader(io.StringIO(archive.read(name).decode("utf-8-sig"))))) - 1
            assert f"{name}  ({rows} row{'s' if rows != 1 else ''})" in note
        for folder in {name.partition("/")[0] for name in names if "/" in name}:
            count = sum(name.startswith(f"{folder}/") for name in names)
            assert f"{folder}/  ({count} file{'s' if count != 1 else ''})" in note
    assert re.search(r"(?m)^datapackage\.json$", note)
    pictures = {name.removeprefix("photos/") for name in names if name.startswith("photos/")}
    stated = re.findall(r"(?m)^[^:\n]+: (\S+\.jpg)$", note)
    assert stated
    assert set(stated) <= pictures


@pytest.mark.skipif(shutil.which("unzip") is None, reason="unzip is not installed: apt install unzip")
def test_another_program_reads_it(built: Checked, tmp_path: Path) -> None:
    file = tmp_path / "stall.zip"
    file.write_bytes(zipped(built))
    told = subprocess.run(["unzip", "-t", str(file)], capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stdout
    assert "No errors detected" in told.stdout


def test_the_same_build_gives_the_same_bytes_whatever_the_files_times_are(built: Checked) -> None:
    first = zipped(built)
    for file in (out_of(built) / "stall").rglob("*"):
        os.utime(file, (10**9, 10**9))
    assert zipped(built) == first
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert {(info.create_system, info.external_attr) for info in archive.infolist()} == {(3, 0o644 << 16)}


def test_it_goes_out_in_pieces_and_no_file_is_held_whole(built: Checked, tmp_path: Path) -> None:
    """200 sets with eight pictures of 300 kB each are 480 MB; one file of 64 MB and many small ones stand for them."""
    large = tmp_path / "large.bin"
    large.write_bytes(os.urandom(1 << 20) * 64)
    pack = pack_of(built, "stall", out_of(built))
    one = PackedFile("photos/large.jpg", "photos", large, large.stat().st_size, sha256_of(large), None)
    many = replace(pack, files=(*pack.files, one, *(replace(one, path=f"photos/{n}.jpg") for n in range(2))))
    tracemalloc.start()
    sizes = [len(piece) for piece in streamed(many)]
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert sum(sizes) > 3 * large.stat().st_size
    assert max(sizes) < 1_000_000
    assert peak < 5_000_000


def test_while_a_build_is_at_work_it_is_told(built: Checked) -> None:
    with locked(out_of(built)), pytest.raises(BlockedError, match="another build"):
        pack_of(built, "stall", out_of(built))


def broken_off(pieces: Iterator[bytes]) -> bytes:
    """Return what came before it was told that a file had changed."""
    got: list[bytes] = []
    with pytest.raises(BlockedError, match="was changed while it was packed"):
        got.extend(pieces)
    return b"".join(got)


@pytest.mark.parametrize("kind", ["other bytes", "gone", "a link"])
def test_a_file_that_changes_meanwhile_breaks_it_off_before_it_is_whole(built: Checked, kind: str) -> None:
    pack = pack_of(built, "stall", out_of(built))
    pieces = streamed(pack)
    next(pieces)
    file = pack.files[-1].source
    content = file.read_bytes()
    file.unlink()
    if kind == "other bytes":
        file.write_bytes(bytes(len(content)))
    elif kind == "a link":
        (file.parent / "elsewhere").write_bytes(content)
        file.symlink_to(file.parent / "elsewhere")
    with pytest.raises(zipfile.BadZipFile):
        zipfile.ZipFile(io.BytesIO(broken_off(pieces)))


def test_what_was_edited_or_never_built_is_told(built: Checked, tmp_path: Path) -> None:
    feed = out_of(built) / "stall/feed.csv"
    feed.write_bytes(feed.read_bytes() + b"\n")
    with pytest.raises(FieldError, match=r"feed\.csv is no longer what the build made"):
        pack_of(built, "stall", out_of(built))
    with pytest.raises(FieldError, match="nothing is built for Market stall"):
        pack_of(built, "stall", tmp_path / "nowhere")


def test_that_the_shop_has_moved_on_is_told(built: Checked) -> None:
    assert not pack_of(built, "stall", out_of(built)).behind
    story = built.shop.root / "sets/dawn/story.md"
    was = story.read_text(encoding="utf-8")
    story.write_text("Another story.\n", encoding="utf-8")
    assert pack_of(check_shop(built.shop.root, DAY), "stall", out_of(built)).behind
    story.write_text(was, encoding="utf-8")
    assert not pack_of(check_shop(built.shop.root, DAY), "stall", out_of(built)).behind
    (built.shop.root / "channels/stall.toml").write_text(STALL.replace('"photos", ', ""), encoding="utf-8")
    assert pack_of(check_shop(built.shop.root, DAY), "stall", out_of(built)).behind  # pictures are no longer made


def test_a_place_is_not_packed_without_a_file_whose_place_was_taken(built: Checked) -> None:
    feed = next(out_of(built).glob("stall/feed.*"))
    feed.unlink()
    feed.mkdir()
    assert build_shop(built, out_of(built)).failures != ()
    with pytest.raises(FieldError, match=rf"stall/{feed.name} was not built, as something else lies in its place\."):
        pack_of(built, "stall", out_of(built))


def test_what_a_killed_build_has_made_is_not_told_as_something_of_the_owners(built: Checked) -> None:
    """The first build that has a file puts it in its place before the manifest names it; a kill may come between."""
    out = out_of(built)
    path = f"stall/{next(out.glob('stall/feed.*')).name}"
    made = read_made(out)
    entries = tuple(entry for entry in read_manifest(out) if entry.path != path)
    write_manifest(out, entries)
    write_made(out, Made({name: file for name, file in made.files.items() if name != path}, made.photos))
    journal = Journal(out, [path])
    journal.made(path, made.files[path])
    journal.close()
    with pytest.raises(FieldError, match=rf"{path} is of a build that was broken off\."):
        pack_of(built, "stall", out)
    assert build_shop(built, out).failures == ()
    assert path.removeprefix("stall/") in [file.path for file in pack_of(built, "stall", out).files]
    (out / path).write_text("of the owner", encoding="utf-8")
    write_manifest(out, entries)
    with pytest.raises(FieldError, match=rf"{path} was not built, as something else lies in its place\."):
        pack_of(built, "stall", out)


def test_no_place_of_the_demo_is_behind_right_after_its_build(tmp_path: Path) -> None:
    shop = small_demo(tmp_path / "shop")
    checked = check_shop(shop, DAY)
    assert build_shop(checked, shop / "out").failures == ()
    for key in checked.places:
        pack = pack_of(checked, key, shop / "out")
        assert not pack.behind, key
        with zipfile.ZipFile(io.BytesIO(b"".join(streamed(pack)))) as archive:
            assert archive.testzip() is None
            assert len(archive.namelist()) == len(pack.files) + 1


def test_every_output_is_one_that_a_place_takes_or_one_that_none_does() -> None:
    owners = {"record", "contact-sheet", "wholesale-record", "outside-labels", "price-cards", "proof"}
    assert {*FOR_A_PLACE, *FOR_SHOPS} | owners == set(WRITERS)
    assert not owners.intersection(FOR_A_PLACE, FOR_SHOPS)


def test_a_place_that_was_built_alone_is_packed_alone(tmp_path: Path) -> None:
    shop = small_demo(tmp_path / "shop")
    checked = check_shop(shop, DAY)
    build_shop(checked, shop / "out", channel="stall")
    pack = pack_of(checked, "stall", shop / "out")
    assert [file.path for file in pack.files] == ["feed.xlsx", "price-list.csv", "price-list.pdf"]
    assert re.search(r"(?m)^price-list\.pdf$", pack.note)
    with pytest.raises(FieldError, match="nothing is built for Wholesale"):
        pack_of(checked, "wholesale", shop / "out")


def test_every_language_has_every_word_of_the_note(tmp_path: Path) -> None:
    for path in sorted((shipped_templates() / "pack").glob("*.toml")):
        assert tomllib.loads(path.read_text(encoding="utf-8"))["note"].keys() == {
            field.name for field in fields(PackWords)
        }, path
    words = (shipped_templates() / "pack/en.toml").read_text(encoding="utf-8").replace("{shop}", "{shup}")
    shop = clean_shop(tmp_path / "shop", {"channels/stall.toml": STALL, "templates/pack/en.toml": words})
    checked = check_shop(shop, DAY)
    build_shop(checked, shop / "out")
    with pytest.raises(FieldError, match=r"templates/pack/en\.toml"):
        pack_of(checked, "stall", shop / "out")


# The command


def test_the_command_writes_it_again_over_its_own_and_over_nothing_else(
    built: Checked, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "stall.zip"
    command = ["pack", "Market stall", str(target), "--shop", str(built.shop.root), "--today", str(DAY)]
    assert main(command) == 0
    assert target.read_bytes() == zipped(built)
    assert "feed.csv" in capsys.readouterr().out
    (built.shop.root / "sets/dawn/story.md").write_text("Another story.\n", encoding="utf-8")
    assert main(command) == 0
    assert "The shop was changed since the last build" in capsys.readouterr().err
    assert main(["build", "--shop", str(built.shop.root), "--today", str(DAY)]) == 0
    assert main(command) == 0  # over the one of before
    whole = target.read_bytes()
    target.write_bytes(whole[:200] + b"x" + whole[201:])
    assert main(command) == 1
    assert "is not as listkit made it" in capsys.readouterr().err
    assert target.read_bytes()[200:201] == b"x"
    for name, message in (("stall.txt", "no name for a ZIP"), ("nowhere/../stall.zip", "is not as listkit made it")):
        assert main([*command[:2], str(tmp_path / name), *command[3:]]) == 1
        assert message in capsys.readouterr().err
    assert main(["pack", "Nowhere", str(target), "--shop", str(built.shop.root), "--today", str(DAY)]) == 1
    assert 'There is no channel "Nowhere"' in capsys.readouterr().err


def test_it_takes_no_place_among_the_shops_own_files(built: Checked) -> None:
    pack = pack_of(built, "stall", out_of(built))
    with pytest.raises(BlockedError):
        write_pack(built.shop.root / "sets/stall.zip", pack, built.shop.root)
    assert not (built.shop.root / "sets/stall.zip").exists()


def test_a_zip_that_breaks_off_leaves_no_file(built: Checked, tmp_path: Path) -> None:
    pack = pack_of(built, "stall", out_of(built))
    pack.files[-1].source.unlink()
    with pytest.raises(BlockedError):
        write_pack(tmp_path / "new/stall.zip", pack, built.shop.root)
    assert not (tmp_path / "new").exists()


def test_a_table_of_a_stall_is_not_to_be_uploaded(tmp_path: Path) -> None:
    shop = small_demo(tmp_path / "shop")
    checked = check_shop(shop, DAY)
    build_shop(checked, shop / "out")
    assert "Upload" not in pack_of(checked, "stall", shop / "out").note
    assert "Upload it where Own web shop takes goods from a file." in pack_of(checked, "web_shop", shop / "out").note
