"""A folder is there whole or not at all."""

from pathlib import Path

import pytest

from listkit.edit.files import in_the_making, write_file
from listkit.problem import BlockedError, FieldError


def test_a_folder_appears_whole_with_the_folders_above_it(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b" / "shop"
    with in_the_making(folder) as made:
        write_file(made / "sets" / "x" / "set.toml", b"1")
        assert not folder.exists()
    assert (folder / "sets" / "x" / "set.toml").read_bytes() == b"1"
    assert [path.name for path in tmp_path.iterdir()] == ["a"]


def test_what_fails_half_way_leaves_no_trace(tmp_path: Path) -> None:
    def half() -> None:
        with in_the_making(tmp_path / "shop") as made:
            write_file(made / "one", b"1")
            raise RuntimeError("power cut")

    with pytest.raises(RuntimeError):
        half()
    assert list(tmp_path.iterdir()) == []


def test_an_empty_folder_is_filled_and_stays_the_same_folder(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    folder.mkdir()
    before = folder.stat().st_ino
    with in_the_making(folder) as made:
        write_file(made / "shop.toml", b"1")
    assert folder.stat().st_ino == before
    assert [path.name for path in folder.iterdir()] == ["shop.toml"]


def test_what_comes_into_an_empty_folder_meanwhile_is_neither_replaced_nor_taken_away(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    folder.mkdir()

    def late() -> None:
        with in_the_making(folder) as made:
            write_file(made / "items.csv", b"ours")
            write_file(made / "shop.toml", b"ours")
            write_file(folder / "shop.toml", b"hers")
            write_file(folder / "notes.txt", b"hers")

    with pytest.raises(BlockedError, match=r"shop\.toml has come there meanwhile"):
        late()
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == {"shop.toml": b"hers", "notes.txt": b"hers"}
    assert [path.name for path in tmp_path.iterdir()] == ["shop"]


@pytest.mark.parametrize("kind", ["file", "full folder", "link"])
def test_what_lies_there_is_never_overwritten(tmp_path: Path, kind: str) -> None:
    folder = tmp_path / "shop"
    if kind == "file":
        folder.write_text("mine")
    elif kind == "link":
        folder.symlink_to(tmp_path / "elsewhere")
    else:
        write_file(folder / "mine", b"mine")
    before = sorted(path.name for path in tmp_path.rglob("*"))
    with pytest.raises(FieldError, match="there already"), in_the_making(folder):
        pass
    assert sorted(path.name for path in tmp_path.rglob("*")) == before


def test_a_place_that_cannot_be_written_to_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    with pytest.raises(FieldError, match="cannot be written to"), in_the_making(tmp_path / "file" / "shop"):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_a_name_that_no_system_takes_is_told(tmp_path: Path) -> None:
    for name in ("x" * 300, "a\0b"):
        with pytest.raises(FieldError), in_the_making(tmp_path / name) as made:
            write_file(made / "one", b"1")
    assert list(tmp_path.iterdir()) == []
