"""The figures of the walls against strangers' files: each stands in one place, and a wall uses it."""

import re
from pathlib import Path

import listkit.bounds
from tests.test_architecture import FILES, PACKAGE

FIGURES = {name: value for name, value in vars(listkit.bounds).items() if name.isupper()}


def used_in(path: Path) -> set[str]:
    return set(re.findall(r"\bbounds\.([A-Z_]+)", path.read_text(encoding="utf-8")))


def test_every_figure_is_a_wall_of_exactly_one_module() -> None:
    users: dict[str, list[str]] = {name: [] for name in FIGURES}
    for path in FILES:
        for name in used_in(path):
            users[name].append(path.relative_to(PACKAGE).as_posix())
    assert {name: modules for name, modules in users.items() if len(modules) != 1} == {}


def test_the_headings_name_the_modules_whose_walls_they_are() -> None:
    stated: dict[str, str] = {}
    heading = ""
    for line in Path(listkit.bounds.__file__).read_text(encoding="utf-8").splitlines():
        if line.startswith("# "):
            heading = line.partition(":")[2]
        elif line.partition(":")[0].isupper():
            stated[line.partition(":")[0]] = heading
    for path in FILES:
        for name in used_in(path):
            assert path.stem in stated[name], f"{name} is used in {path.stem}"
    assert stated.keys() == FIGURES.keys()


def test_every_figure_is_a_whole_number_above_nothing() -> None:
    assert {name for name, value in FIGURES.items() if not (type(value) is int and value > 0)} == set()
