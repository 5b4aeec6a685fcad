"""Our templates are found from the package itself."""

from pathlib import Path

import listkit
from listkit.read.templates import own_templates
from listkit.shipped import shipped_templates


def test_ours_stand_beside_the_package_in_a_checkout_and_inside_it_in_a_wheel(tmp_path: Path) -> None:
    package = tmp_path / "listkit"
    package.mkdir()
    assert shipped_templates(package) == tmp_path / "templates"
    (package / "_templates").mkdir()
    assert shipped_templates(package) == package / "_templates"


def test_they_are_those_of_the_package_that_runs() -> None:
    assert listkit.__file__ is not None
    assert shipped_templates().parent in Path(listkit.__file__).resolve().parents
    assert "words/en.toml" in dict(own_templates())
