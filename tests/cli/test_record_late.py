"""A build of Monday recorded on Tuesday, after the shop has moved on: what is in out/ is recorded as what it is."""

import hashlib
import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from listkit.ledger.lines import canonical
from listkit.ledger.store import LEDGER, SECTIONS, standing
from listkit.save.manifest import read_manifest, write_manifest
from listkit.save.out_folder import put_signed, read_signed
from tests.cli.published import DAY, Told, built_shop, small_shop
from tests.three_sets import published

MEMORY = "out/.places.json"
DEARER = ("items.csv", "100 g,6.50", "100 g,7.00")
LATE = f"as it was built for {DAY}; the shop was changed since."


@pytest.fixture
def told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Told:
    """A shop that is built."""
    return built_shop(tmp_path / "shop", capsys)


def ledger(told: Told, key: str) -> dict[str, dict[str, str]]:
    """What the ledger holds of a place, section by section."""
    return {section: standing(told.shop / LEDGER, key, section) for section in SECTIONS}


@pytest.mark.parametrize("key", ["web", "stall", "wholesale"])
def test_what_is_recorded_late_is_what_would_have_been_recorded_at_once(
    told: Told, tmp_path: Path, capsys: pytest.CaptureFixture[str], key: str
) -> None:
    at_once = Told(small_shop(tmp_path / "at-once"), capsys)
    assert at_once.build() == 0
    assert at_once.run("record", key) == 0
    said = at_once.err
    told.edit(*DEARER)
    assert told.run("record", key) == 0, told.err
    assert ledger(told, key) == ledger(at_once, key)
    assert LATE in told.err
    assert told.err.partition(" The sheet is ")[1:] == said.partition(" The sheet is ")[1:]  # its version, not today's


def test_afterwards_the_price_that_moved_is_a_change(told: Told) -> None:
    told.edit(*DEARER)
    assert told.run("record", "web") == 0
    assert LATE in told.err
    changed = told.json("changes", "web", status=1)["web"]["changed"]
    assert [(each["old"], each["new"]) for each in changed if each["field"] == "price"] == [("16.50", "17.00")] * 2


def test_a_script_is_given_the_day_of_the_build_and_a_second_record_adds_nothing(told: Told) -> None:
    told.edit(*DEARER)
    first = told.json("record", "web")
    assert (first["recorded"], first["built_for"]) == (True, DAY)
    assert told.json("record", "web")["recorded"] is False
    assert told.run("record", "web") == 0
    assert told.err == f"web is recorded already, {LATE} Nothing was added.\n"


@pytest.mark.parametrize("move", [
    ("channels/web.toml", 'heading = "Jar"', 'heading = "Which jar"'),
    ("sets/first-balm/story.md", "", ""),
    ("channels/web.toml", 'make = ["feed", "listings"]', 'make = ["feed"]'),
    ("channels/web.toml", 'make = ["feed", "listings"]', 'make = ["feed", "listings", "price list"]'),
], ids=["column", "story", "fewer files", "more files"])  # fmt: skip
def test_whatever_moved_what_is_there_is_recorded(told: Told, move: tuple[str, str, str]) -> None:
    file, old, new = move
    if old:
        told.edit(file, old, new)
    else:
        [story, *_] = sorted((told.shop / "sets").glob("*/story.md"))
        story.write_text(story.read_text(encoding="utf-8") + "\nMore.\n", encoding="utf-8")
    assert told.run("record", "web") == 0, told.err
    assert LATE in told.err
    assert "web/feed.csv" in ledger(told, "web")["files"]


def test_a_shop_that_did_not_move_is_recorded_without_a_word_on_it(told: Told) -> None:
    assert told.run("record", "web") == 0
    assert told.err.endswith(".\n")
    assert "built for" not in told.err
    assert "built_for" not in told.json("record", "stall")


@pytest.mark.parametrize("spoilt", ["edited", "missing"])
def test_files_that_are_not_as_built_are_refused_late_too(told: Told, spoilt: str) -> None:
    told.edit(*DEARER)
    feed = told.shop / "out/web/feed.csv"
    if spoilt == "edited":
        feed.write_bytes(feed.read_bytes().replace(b"16.50", b"15.50"))
    else:
        feed.unlink()
    assert told.run("record", "web") == 1
    assert told.err == ("Not recorded: web/feed.csv is no longer what the build made. Build, publish, then record.\n")
    assert not (told.shop / LEDGER).exists()


@pytest.mark.parametrize("memory", [
    None, b"", b"{}", b"\xff\xfe", '{"form":1}', '{"form":1,"places":[]}', '{"form":1,"places":{"web":7}}',
    '{"form":1,"places":{"web":{"day":"2027-03-01","items":{},"sets":{},"rules":{},"files":[]}}}',
    '{"form":1,"places":{"web":{"day":"soon","items":{},"sets":{},"rules":{},"files":{"web/feed.csv":"{}"}}}}',
    '{"form":1,"places":{"web":{"day":"2027-03-01","items":{"a":1},"sets":{},"rules":{},"files":{}}}}',
    '{"form":999,"places":{}}',
])  # fmt: skip
def test_without_a_right_memory_a_shop_that_moved_is_not_recorded(told: Told, memory: bytes | str | None) -> None:
    file = told.shop / MEMORY
    assert file.is_file()
    if memory is None:
        file.unlink()
    elif isinstance(memory, bytes):
        file.write_bytes(memory)
    else:
        put_signed(file, json.loads(memory))
    told.edit(*DEARER)
    assert told.run("record", "web") == 1
    assert "the shop was changed since the last build: " in told.err
    assert "Build, publish, then record." in told.err
    assert not (told.shop / LEDGER).exists()


def test_a_memory_that_is_not_as_it_was_written_is_none(told: Told) -> None:
    file = told.shop / MEMORY
    file.write_bytes(file.read_bytes().replace(b"6.50", b"5.50"))
    told.edit(*DEARER)
    assert told.run("record", "web") == 1


def test_a_memory_of_another_build_is_none(told: Told) -> None:
    before = (told.shop / MEMORY).read_bytes()
    told.edit(*DEARER)
    assert told.build("--accept-large-changes") == 0
    (told.shop / MEMORY).write_bytes(before)
    told.edit("items.csv", "100 g,7.00", "100 g,7.50")
    assert told.run("record", "web") == 1
    assert "the shop was changed since the last build" in told.err


def test_a_build_of_one_channel_leaves_the_others_as_they_are_remembered(told: Told) -> None:
    told.edit(*DEARER)
    assert told.build("--channel", "web", "--accept-large-changes") == 0
    told.edit("items.csv", "100 g,7.00", "100 g,7.50")
    assert told.run("record", "web") == 0
    assert told.run("record", "stall") == 0
    prices = {key: {json.loads(row)["price"] for row in ledger(told, key)["rows"].values()} for key in ("web", "stall")}
    assert "17.00" in prices["web"] - prices["stall"]
    assert "16.50" in prices["stall"] - prices["web"]


def test_all_places_are_recorded_late_at_once(told: Told) -> None:
    told.edit(*DEARER)
    assert told.run("record", "--all") == 0
    assert told.err.count(LATE) == 3
    with closing(sqlite3.connect(told.shop / LEDGER)) as file:
        assert file.execute("SELECT count(*) FROM record").fetchall() == [(3,)]


def test_what_is_held_back_is_refused_late_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = published(tmp_path / "shop", capsys)
    told.edit("sets/dusk/story.md", "Salts for the dusk", "More salts for the dusk")
    assert told.build() == 0
    told.edit("sets/noon/set.toml", 'item = "RR-K1"', 'item = "RR-K9"')
    assert told.run("record", "web") == 1
    assert "RRS-2 must be fixed and is held back on Own web shop" in told.err
    told.edit("sets/dusk/story.md", "More salts", "Many more salts")
    assert told.build() == 1
    told.edit("sets/noon/set.toml", 'item = "RR-K9"', 'item = "RR-K1"')
    assert told.run("record", "web") == 1, "the joint files are older than those of single sets"
    assert "the shop was changed since the last build" in told.err


def test_a_second_build_of_the_same_shop_leaves_the_memory_as_it_is(told: Told) -> None:
    before = (told.shop / MEMORY).stat().st_mtime_ns, (told.shop / MEMORY).read_bytes()
    assert told.build("--jobs", "2") == 0
    (told.shop / "out/.built.json").unlink()
    assert told.build() == 0
    assert ((told.shop / MEMORY).stat().st_mtime_ns, (told.shop / MEMORY).read_bytes()) == before


def _remembered(told: Told, section: str, line: str) -> None:
    """Put a line into what is remembered of the web, signed as listkit signs it."""
    memory = read_signed(told.shop / MEMORY)
    memory["places"]["web"]["lines"][section]["X-1"] = line
    put_signed(told.shop / MEMORY, memory)


@pytest.mark.parametrize(("section", "line"), [
    ("items", '{"cost":{"x":1}}'), ("items", '{"weight":1e18}'), ("items", '{"moved":["sold many"]}'),
    ("items", '{"made_of":["oil"]}'), ("rules", '{"a":"' + "x" * 60_000_000 + '"}'), ("sets", '{"a":NaN}'),
], ids=["object", "number", "moved", "made of", "long", "nan"])  # fmt: skip
def test_what_no_ledger_could_be_read_with_is_not_recorded(told: Told, section: str, line: str) -> None:
    """It went in, and from then on every command said that the ledger is not what listkit wrote."""
    _remembered(told, section, line)
    told.edit(*DEARER)
    assert told.run("record", "web") == 1
    assert "the shop was changed since the last build: " in told.err
    assert not (told.shop / LEDGER).exists()


def _forged(told: Told, content: bytes) -> None:
    """Put other rows into the place of those built, and let manifest and memories say that they were built so."""
    out, path, sha = told.shop / "out", "web/record.jsonl", hashlib.sha256(content).hexdigest()
    (out / path).write_bytes(content)
    entries = [
        replace(entry, size=len(content), sha256=sha) if entry.path == path else entry for entry in read_manifest(out)
    ]
    write_manifest(out, entries)
    made = read_signed(out / ".made.json")
    made["files"][path] = [made["files"][path][0], len(content), (out / path).stat().st_mtime_ns, sha]
    put_signed(out / ".made.json", made)
    places = read_signed(told.shop / MEMORY)
    for place in places["places"].values():
        if path in place["files"]:
            place["files"][path] = canonical(json.loads(place["files"][path]) | {"sha256": sha})
    put_signed(told.shop / MEMORY, places)


ROWS = {
    "no code": b'{"a":1}\n',
    "a list": b"[1]\n",
    "no JSON": b"xx\n",
    "no letters": b"\xff\xfe\n",
    "a code that is a number": b'{"sku":5}\n',
    "half a sign": b'{"sku":"\\ud800"}\n',
    "an object": b'{"sku":"A","x":{"y":1}}\n',
    "deep": b'{"sku":"A","x":' + b"[" * 50_000 + b"]" * 50_000 + b"}\n",
    "twice": b'{"sku":"A"}\n' * 2,
    "an empty line": b"\n",
    "a price in words": b'{"sku":"A","price":"dear"}\n',
}


@pytest.mark.parametrize("kind", ROWS)
def test_rows_that_no_build_writes_are_told_and_never_recorded(told: Told, kind: str) -> None:
    _forged(told, ROWS[kind])
    refused = "Not recorded: web/record.jsonl is not what a build writes. Build, publish, then record.\n"
    assert (told.run("record", "web"), told.err) == (1, refused)
    told.edit(*DEARER)
    assert (told.run("record", "web"), told.err) == (1, refused)
    assert not (told.shop / LEDGER).exists()
