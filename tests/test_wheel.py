"""What is shipped: the wheel holds every template, and nothing of the demo or the tests."""

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_the_wheel_holds_the_templates_name_by_name(tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    [wheel] = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        inside = {
            name.removeprefix("listkit/_templates/"): archive.read(name) for name in names if "/_templates/" in name
        }
    templates = ROOT / "templates"
    ours = {
        path.relative_to(templates).as_posix(): path.read_bytes() for path in templates.rglob("*") if path.is_file()
    }
    assert inside == ours
    assert {"listkit/py.typed", "listkit/cli/build.py"} <= names
    assert not [name for name in names if name.startswith(("tests/", "demo_shop/"))]
