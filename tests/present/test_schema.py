"""The schemas that editors use."""

import datetime
import json
import tomllib
from pathlib import Path, PurePosixPath
from typing import Any

import jsonschema
import pytest

from listkit.cli import main
from listkit.present.schema import FILES, schema_of

DEMO = Path(__file__).parents[2] / "demo_shop"


def as_json(value: Any) -> Any:
    """TOML's days as an editor sees them."""
    if isinstance(value, dict):
        return {key: as_json(part) for key, part in value.items()}
    if isinstance(value, list):
        return [as_json(part) for part in value]
    return value.isoformat() if isinstance(value, datetime.date) else value


@pytest.mark.parametrize("file", FILES)
def test_every_schema_is_a_json_schema_with_words_for_every_key(file: str) -> None:
    schema = schema_of(FILES[file])
    jsonschema.Draft202012Validator.check_schema(schema)
    assert all("description" in part or "$ref" in part for part in schema["properties"].values())


@pytest.mark.parametrize("path", sorted(DEMO.rglob("*.toml")), ids=lambda path: str(path.relative_to(DEMO)))
def test_the_demo_shop_keeps_to_the_schemas(path: Path) -> None:
    relative = PurePosixPath(path.relative_to(DEMO).as_posix())
    [model] = [model for file, model in FILES.items() if relative.match(file)]
    said = as_json(tomllib.loads(path.read_text(encoding="utf-8")))
    jsonschema.Draft202012Validator(schema_of(model)).validate(said)


def test_a_typing_slip_does_not_pass() -> None:
    validator = jsonschema.Draft202012Validator(schema_of(FILES["sets/*/set.toml"]))
    said = {"code": "A", "name": "B", "box": "S", "contents": [{"item": "C"}], "seasn": "spring"}
    assert [fault.message for fault in validator.iter_errors(said)] == [
        "Additional properties are not allowed ('seasn' was unexpected)"
    ]


def test_schema_prints_one_file_or_all(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    assert list(json.loads(capsys.readouterr().out)) == list(FILES)
    assert main(["schema", "shop.toml"]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == "Settings"
    assert main(["schema", "shp.toml"]) == 2
