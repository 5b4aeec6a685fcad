"""The record of the lines: what the ledger remembers of each."""

import json
from pathlib import Path

from listkit.save.save import save
from listkit.write import record
from listkit.write.context import WriteContext
from tests.write.sheets import gtin, hard


def test_every_line_is_a_row_with_all_its_prices(tmp_path: Path) -> None:
    saved = save(record.write_wholesale(hard(display={"price": "free"}), WriteContext("1")), tmp_path)
    assert saved.made == ("wholesale/record.jsonl",)
    lines = (tmp_path / saved.made[0]).read_text(encoding="utf-8").splitlines()
    rows = {row["sku"]: row for row in map(json.loads, lines)}
    assert len(rows) == 42
    bar = rows["B-1"]
    assert (bar["wholesalePrice"], bar["suggestedRetail"], bar["tierPrices"]) == ("3.75", "7.50", ["24: 3.53"])
    assert (bar["gtin"], bar["fullCost"], bar["itemCodes"]) == (gtin(1), "1.85", ["B-1"])
    assert "displayPrice" not in bar
    one = rows["SET-1-07"]
    assert (one["inProductGroupWithID"], one["displayPrice"], one["itemCodes"]) == ("SET-1", "0.00", ["B-1", "J-07"])
    assert "gtin" not in one


def test_what_is_written_is_read_back_line_by_line(tmp_path: Path) -> None:
    [job] = record.write_wholesale(hard(), WriteContext("1"))
    path = tmp_path / "record.jsonl"
    job.recipe(*job.inputs, (path,))
    verify = job.files[0].verify
    assert verify is not None
    assert verify(path, job.recipe, job.inputs) == ""
    path.write_text(path.read_text(encoding="utf-8").replace("3.75", "3.76"), encoding="utf-8")
    assert verify(path, job.recipe, job.inputs) != ""
