import hashlib
import json
import re
from decimal import Decimal
from fractions import Fraction
from importlib.metadata import version
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.save.job import LIBRARIES, File
from listkit.save.manifest import entry_of, is_manifest, read_manifest, write_manifest


def test_the_manifest_tells_rows_lowest_highest_and_sum_of_prices(tmp_path: Path) -> None:
    feed = File("web/feed.csv", "key", ("OHS-1",), ("24.50", "9.00", "", "24.00"), channel="web", guarded=True)
    write_manifest(tmp_path, [entry_of(feed, 12, "ab"), entry_of(File("web/a.html", "key"), 3, "cd")])
    files = json.loads((tmp_path / "manifest.json").read_text(encoding="utf-8"))["files"]
    assert files[0] == {
        "path": "web/a.html", "channel": "", "size": 3, "sha256": "cd", "codes": [], "guarded": False,
        "rows": None, "lowest_price": None, "highest_price": None, "sum_of_prices": None,
    }  # fmt: skip
    assert files[1] == {
        "path": "web/feed.csv", "channel": "web", "size": 12, "sha256": "ab", "codes": ["OHS-1"], "guarded": True,
        "rows": 4, "lowest_price": "9.00", "highest_price": "24.50", "sum_of_prices": "57.50",
    }  # fmt: skip


def test_a_feed_without_a_row_has_no_prices_to_tell() -> None:
    entry = entry_of(File("feed.csv", "key", prices=()), 0, "")
    assert (entry.rows, entry.lowest_price, entry.sum_of_prices) == (0, None, None)


@given(st.lists(st.decimals(0, 10**9, places=3), min_size=1))
def test_prices_are_added_exactly(prices: list[Decimal]) -> None:
    entry = entry_of(File("feed.csv", "key", prices=tuple(map(str, prices))), 0, "")
    assert Fraction(entry.sum_of_prices or "") == sum(map(Fraction, prices))
    assert Fraction(entry.lowest_price or "") == min(map(Fraction, prices))
    assert Fraction(entry.highest_price or "") == max(map(Fraction, prices))


def test_a_manifest_that_names_a_file_twice_names_none(tmp_path: Path) -> None:
    """A ZIP of its files said so in a warning of Python's."""
    write_manifest(tmp_path, [entry_of(File("web/feed.csv", "key"), 1, "ab")] * 2)
    assert (read_manifest(tmp_path), is_manifest(tmp_path)) == ((), True)


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    entries = tuple(entry_of(File(path, "key", ("é",), ("1.00",)), 1, "ab") for path in ("a", "b/été.html"))
    write_manifest(tmp_path, reversed(entries))
    assert read_manifest(tmp_path) == entries
    text = (tmp_path / "manifest.json").read_bytes()
    assert re.search(rb'}\n\],\n"made_with": \[.*\],\n"sha256": "[0-9a-f]{64}"}\n\Z', text)
    assert b"\r" not in text
    assert "été".encode() in text


def test_it_names_the_versions_that_shaped_the_bytes(tmp_path: Path) -> None:
    write_manifest(tmp_path, ())
    named = json.loads((tmp_path / "manifest.json").read_text(encoding="utf-8"))["made_with"]
    assert f"pillow {version('pillow')}" in named
    assert {name.partition(" ")[0] for name in named} == set(LIBRARIES)


def test_a_manifest_of_other_versions_or_of_none_names_its_files_as_well(tmp_path: Path) -> None:
    write_manifest(tmp_path, entries := (entry_of(File("a", "key"), 1, "ab"),))
    text = (tmp_path / "manifest.json").read_text(encoding="utf-8")
    for other in (text.replace('"pillow ', '"pillow 9'), re.sub('"made_with".*\n', "", text)):
        assert other != text
        (tmp_path / "manifest.json").write_text(other, encoding="utf-8")
        assert read_manifest(tmp_path) == entries


@pytest.mark.parametrize(
    "change",
    [
        {"path": "../a"}, {"path": 1}, {"size": "1"}, {"rows": "1"}, {"guarded": None}, {"codes": [1]}, {"codes": None},
        {"sum_of_prices": "NaN"}, {"sum_of_prices": "x"}, {"lowest_price": 1}, {"stranger": 1},
        {"rows": True}, {"rows": ""}, {"rows": -1}, {"rows": 10**4000}, {"size": False}, {"size": -1},
        {"sum_of_prices": "1E+99999999"},
    ],
)  # fmt: skip
def test_a_manifest_that_somebody_broke_is_as_good_as_none(tmp_path: Path, change: dict[str, object]) -> None:
    write_manifest(tmp_path, [entry_of(File("a", "key", prices=("1.00",)), 1, "ab")])
    assert len(read_manifest(tmp_path)) == 1
    file = json.loads((tmp_path / "manifest.json").read_text(encoding="utf-8"))["files"][0]
    put_manifest(tmp_path, json.dumps(file))
    assert len(read_manifest(tmp_path)) == 1
    put_manifest(tmp_path, json.dumps(file | change))
    assert read_manifest(tmp_path) == ()


def put_manifest(out: Path, line: str) -> None:
    """Write a manifest of one line, whatever it says, with the SHA-256 of it."""
    digest = hashlib.sha256(line.encode()).hexdigest()
    (out / "manifest.json").write_text(f'{{"files": [\n{line}\n],\n"sha256": "{digest}"}}\n', encoding="utf-8")


def test_a_manifest_in_which_a_letter_was_changed_or_whose_digest_is_gone_is_as_good_as_none(tmp_path: Path) -> None:
    write_manifest(tmp_path, [entry_of(File("a", "key"), 1, "ab")])
    file = tmp_path / "manifest.json"
    whole = file.read_bytes()
    for changed in (whole.replace(b'"a"', b'"b"'), whole.partition(b',\n"sha256"')[0] + b"}\n"):
        assert json.loads(changed)
        file.write_bytes(changed)
        assert read_manifest(tmp_path) == ()
        assert is_manifest(tmp_path)


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"files": 1}', '{"files": [1]}', "\x00", "[" * 100_000])
def test_a_file_that_is_no_manifest_is_as_good_as_none(tmp_path: Path, text: str) -> None:
    (tmp_path / "manifest.json").write_text(text, encoding="utf-8")
    assert read_manifest(tmp_path) == ()


def test_what_stands_beside_the_lines_that_are_signed_names_nothing(tmp_path: Path) -> None:
    """JSON takes the last of two keys of one name; the lines of the first would vouch for it."""
    write_manifest(tmp_path, (entry_of(File("web/feed.csv", "key"), 1, "ab"),))
    whole = (tmp_path / "manifest.json").read_text(encoding="utf-8")
    stranger = json.dumps({**json.loads(whole)["files"][0], "path": "mine.csv"})
    (tmp_path / "manifest.json").write_text(whole.rstrip()[:-1] + f',"files": [{stranger}]}}\n', encoding="utf-8")
    assert read_manifest(tmp_path) == ()
