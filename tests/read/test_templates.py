"""The owner's templates beat ours by path."""

from pathlib import Path

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
