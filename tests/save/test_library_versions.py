"""After an upgrade of a library that shapes the bytes of our files, nothing of the last build is taken as unchanged."""

import json
from collections.abc import Callable, Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest

from listkit.cli import main
from listkit.save.job import LIBRARIES, digest_of, key_of, library_versions

Upgrade = Callable[[str], None]


@pytest.fixture
def upgrade(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Upgrade]:
    """What stands for an upgrade: the folder that an installer would leave, where Python looks first."""
    monkeypatch.syspath_prepend(tmp_path / "upgraded")

    def upgraded(metadata: str) -> None:
        (tmp_path / "upgraded" / metadata).mkdir(parents=True)
        library_versions.cache_clear()

    yield upgraded
    library_versions.cache_clear()


def build(shop: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """What a build of the shop tells a script."""
    capsys.readouterr()
    assert main(["build", "--shop", str(shop), "--json", "--today", "2026-11-25"]) == 0
    told: dict[str, Any] = json.loads(capsys.readouterr().out)
    return told


def test_old_texts_do_not_stand_as_unchanged_after_an_upgrade_of_babel(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], upgrade: Upgrade
) -> None:
    shop = tmp_path / "shop"
    assert main(["new", str(shop)]) == 0
    first = build(shop, capsys)
    assert build(shop, capsys)["made"] == []
    upgrade("babel-99.1.dist-info")
    assert build(shop, capsys)["made"] == first["made"]
    assert build(shop, capsys)["made"] == []


def test_the_versions_are_those_that_python_itself_finds() -> None:
    """The reference is importlib.metadata, which reads the files that the folders hold."""
    assert library_versions() == tuple(f"{name} {version(name)}" for name in LIBRARIES)


@pytest.mark.parametrize(
    ("metadata", "line"),
    [
        ("markdown_it_py-99.0.1.dist-info", "markdown-it-py 99.0.1"),
        ("Jinja2-99.0rc1.dist-info", "jinja2 99.0rc1"),
        ("pillow_heif-99.egg-info", "pillow-heif 99"),
        ("XlsxWriter-99.2-py3.11.egg-info", "xlsxwriter 99.2"),
    ],
)
def test_every_way_of_writing_a_library_s_name_is_read(metadata: str, line: str, upgrade: Upgrade) -> None:
    """From memory: the forms that installers have left beside packages, old and new."""
    before = key_of("a")
    upgrade(metadata)
    assert line in library_versions()
    assert key_of("a") != before


def test_a_digest_that_names_a_file_outlives_an_upgrade(upgrade: Upgrade) -> None:
    before = digest_of("a")
    upgrade("babel-99.1.dist-info")
    assert digest_of("a") == before
