"""DEVELOPERS.md names only what is there: files of the package, tests, and modules that a command line runs."""

import re
from pathlib import Path

from tests.test_bounds import FIGURES

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_file_that_is_named_is_there() -> None:
    named = set(re.findall(r"`([\w./-]+/[\w.-]+\.(?:py|toml|md|typ|txt))`", TEXT))
    assert named
    places = (ROOT, ROOT / "listkit", ROOT / "templates", ROOT / "tests")
    assert sorted(name for name in named if not any((place / name).is_file() for place in places)) == []


def test_every_module_that_a_command_runs_is_there() -> None:
    modules = set(re.findall(r"python -m (tests[\w.]*)", TEXT))
    assert modules
    paths = {name: ROOT.joinpath(*name.split(".")) for name in modules}
    assert (
        sorted(name for name, path in paths.items() if not path.with_suffix(".py").is_file() and not path.is_dir())
        == []
    )


def test_the_bounds_that_promises_name_are_there() -> None:
    promises = TEXT.partition("| promise | bound |")[2].partition("\n\n")[0]
    named = set(
        re.findall(r"`([A-Z]+(?:_[A-Z]+)+|SHOWN|STORY|TEMPLATE|MARKDOWN|VARIANTS|COPIES|CONNECTIONS)`", promises)
    )
    assert len(named) > len(FIGURES) / 2
    assert named <= FIGURES.keys()
