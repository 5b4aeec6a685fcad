"""Files are opened safely and decoded; what goes wrong is told with its line."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from listkit.problem import Problem
from listkit.read.source import Source, decoded, decoded_table, read_bytes, read_source


def told(read: object) -> str:
    assert isinstance(read, Problem)
    return f"{read}  {read.code}"


def test_a_utf8_text_is_read_with_and_without_byte_order_mark() -> None:
    assert decoded("a.md", "Café".encode()) == Source("a.md", "Café")
    assert decoded("a.md", b"\xef\xbb\xbf" + "Café".encode()) == Source("a.md", "Café")


def test_the_line_of_the_first_letter_that_is_not_utf8_is_told() -> None:
    assert told(decoded("a.md", "One.\nA café.\n".encode("windows-1252"))) == (
        'Must fix · a.md, line 2: a letter is not in UTF-8, near "A café.". Save the file again as UTF-8.  encoding'
    )
    with_mark = b"\xef\xbb\xbf" + "One.\nTwo\ncafé".encode("windows-1252")
    assert told(decoded("a.md", with_mark)).startswith("Must fix · a.md, line 3:")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "windows-1252"])
def test_a_table_may_be_in_any_of_the_encodings_that_spreadsheets_save(encoding: str) -> None:
    assert decoded_table("t.csv", "Crème;7\n".encode(encoding)) == Source("t.csv", "Crème;7\n")


def test_other_texts_are_not_guessed() -> None:
    assert "UTF-16" in told(decoded("a.md", "text".encode("utf-16")))
    assert "breaks off" in told(decoded_table("t.csv", "text".encode("utf-16")[:-1]))
    assert told(decoded_table("t.csv", b"a\nb\x81c")).startswith("Must fix · t.csv, line 2:")
    assert told(decoded("a.md", b"one\ntwo\0")).startswith("Must fix · a.md, line 2: it holds the sign NUL")


@pytest.mark.parametrize("encoding", ["utf-32", "utf-32-be"])
@pytest.mark.parametrize("read", [decoded, decoded_table])
def test_utf32_is_called_by_its_name(read: Callable[[str, bytes], object], encoding: str) -> None:
    """The mark of UTF-32 in little endian begins as that of UTF-16: The Unicode Standard, 2.6."""
    content = ("" if encoding == "utf-32" else "\ufeff").encode("utf-32-be") + "code;name\n".encode(encoding)
    assert told(read("t.csv", content)) == "Must fix · t.csv: it is in UTF-32. Save it again as UTF-8.  encoding"


@pytest.mark.parametrize("read", [decoded, decoded_table])
@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_a_second_byte_order_mark_is_told(read: Callable[[str, bytes], object], encoding: str) -> None:
    message = told(read("t.csv", "\ufeffcode;name\n".encode(encoding)))
    if (read, encoding) == (decoded, "utf-16"):
        assert "it is in UTF-16" in message
    else:
        assert message == (
            "Must fix · t.csv, line 1: it begins with two byte order marks, signs that nobody sees. "
            "Save it again as UTF-8.  encoding"
        )


def test_a_file_beyond_the_limit_is_told_and_not_read(tmp_path: Path) -> None:
    (tmp_path / "big.toml").write_bytes(b"#" * 1001)
    assert "larger than 0 MB" in told(read_source(tmp_path, "big.toml", limit=1000))
    assert isinstance(read_source(tmp_path, "big.toml", limit=1001), Source)


def test_links_folders_devices_and_missing_files_are_not_read(tmp_path: Path) -> None:
    (tmp_path / "true.md").write_text("text")
    (tmp_path / "folder").mkdir()
    names = ["gone.md", "folder"]
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.md")
        (tmp_path / "link.md").symlink_to(tmp_path / "true.md")
        (tmp_path / "device.md").symlink_to("/dev/zero")
        names += ["pipe.md", "link.md", "device.md"]
    for name in [*names, "nul\0name"]:
        code = "path-outside" if (tmp_path / name.replace("\0", "")).is_symlink() else "file-missing"
        assert code in told(read_bytes(tmp_path, name)), name
