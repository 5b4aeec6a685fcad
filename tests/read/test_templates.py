"""The owner's templates beat ours by path."""

from pathlib import Path

import pytest

from listkit import bounds
from listkit.read.templates import own_templates, read_templates
from tests.shops import lines


def test_an_owners_template_beats_ours_of_the_same_path(tmp_path: Path) -> None:
    (tmp_path / "templates/words").mkdir(parents=True)
    (tmp_path / "templates/words/en.toml").write_text("mine")
    (tmp_path / "templates/own.html").write_bytes("caf\xe9".encode("latin-1"))
    (tmp_path / "templates/font.ttf").write_bytes(b"\xff\xfe")
    files = ("templates/words/en.toml", "templates/own.html", "templates/font.ttf")
    templates, problems = read_templates(tmp_path, files)
    assert templates["words/en.toml"] == "mine"
    assert len(templates.texts) == len(own_templates())
    assert [path for path, _ in templates.texts] == sorted(path for path, _ in templates.texts)
    assert lines(problems) == [
        'Must fix · templates/own.html, line 1: a letter is not in UTF-8, near "café". '
        "Save the file again as UTF-8.  encoding"
    ]


def test_thousands_of_large_templates_do_not_fill_the_memory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "TEMPLATES_TOGETHER", 2_500)
    (tmp_path / "templates").mkdir()
    files = [f"templates/{number}.txt" for number in range(9)]
    for file in files:
        (tmp_path / file).write_text("x" * 1_000)
    templates, problems = read_templates(tmp_path, files)
    assert len(templates.owners) == 3
    [told] = lines(problems)
    assert told.startswith("Must fix · templates/3.txt: the templates before it are larger together than any shop's")
