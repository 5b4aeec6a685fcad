"""The same shop gives the same bytes: in any folder, time zone and language, by any number of workers, from a wheel."""

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.shops import DEMO_DRAFT, small_demo

ROOT = Path(__file__).parents[1]


@dataclass(frozen=True)
class Machine:
    """How and where a build runs."""

    folder: str
    code: Path = ROOT
    workers: int = 1
    surroundings: dict[str, str] = field(default_factory=dict)


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with listkit as it comes in a wheel, unpacked as an installer would."""
    folder = tmp_path_factory.mktemp("wheel")
    make = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(make, cwd=ROOT, check=True, capture_output=True)
    [made] = folder.glob("*.whl")
    shutil.unpack_archive(made, folder / "site", "zip")
    return folder / "site"


def manifest_of(machine: Machine, shop: Path, beside: Path) -> bytes:
    """Build the shop on a machine and return its manifest, which has the SHA-256 of every other file."""
    home = beside / machine.folder
    shutil.copytree(shop, home / "shop")
    code = "import listkit.cli, sys; print(listkit.__file__); sys.exit(listkit.cli.main())"
    said = ["build", "--shop", "shop", "--out", "made", "--today", "2026-11-25", "--jobs", str(machine.workers)]
    done = subprocess.run(
        [sys.executable, "-c", code, *said],
        cwd=home,
        env={**os.environ, **machine.surroundings, "PYTHONPATH": str(machine.code)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith(str(machine.code)), "another listkit was built with"
    return (home / "made" / "manifest.json").read_bytes()


def test_the_demo_is_the_same_to_the_byte_wherever_and_however_it_is_built(tmp_path: Path, wheel: Path) -> None:
    """Two builds that differ in everything at once: whatever the bytes depend on, they would differ."""
    shop = small_demo(tmp_path / "demo")
    for draft in DEMO_DRAFT:  # what is left out makes no bytes, but all is read and checked once more
        shutil.rmtree(shop / "sets" / draft)
    here = Machine("here", surroundings={"TZ": "America/St_Johns", "LC_ALL": "C", "PYTHONHASHSEED": "1"})
    there = Machine(
        "far away/Übersee & Söhne",
        code=wheel,
        workers=2,
        surroundings={"TZ": "Pacific/Kiritimati", "LC_ALL": "tr_TR.UTF-8", "PYTHONHASHSEED": "2"},
    )
    assert manifest_of(there, shop, tmp_path) == manifest_of(here, shop, tmp_path)
