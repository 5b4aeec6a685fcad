"""Our templates are found from the package itself; the owner's beat them by path."""

from pathlib import Path

import listkit
from listkit.read.templates import own_templates, read_templates, templates_folder
from tests.shops import lines


def test_ours_stand_beside_the_package_in_a_checkout_and_inside_it_in_a_wheel(tmp_path: Path) -> None:
    package = tmp_path / "listkit"
    package.mkdir()
    assert templates_folder(package) == tmp_path / "templates"
    (package / "_templates").mkdir()
    assert templates_folder(package) == package / "_templates"


def test_they_are_those_of_the_package_that_runs() -> None:
    assert listkit.__file__ is not None
    assert templates_folder().parent in Path(listkit.__file__).resolve().parents
    assert "words/en.toml" in dict(own_templates())


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
