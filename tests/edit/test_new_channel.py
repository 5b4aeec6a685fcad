"""A channel's file written as drafted."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.edit.files import ChannelWords, channel_toml, put_channel
from listkit.learn.draft import DraftColumn
from listkit.problem import FieldError
from listkit.shipped import shipped_templates

TEMPLATE = (shipped_templates() / "learnt" / "channel.toml").read_text(encoding="utf-8")
COLUMN = DraftColumn("Price", "price")
WORDS = ChannelWords(
    "sample.csv", "Fair", "csv", "variant", "plain", pictures=False, dialect=(("separator", '";"'), ("header", "true")),
    day_doubtful=False, columns=(COLUMN,),
)  # fmt: skip


def read(words: ChannelWords) -> dict[str, object]:
    return tomllib.loads(channel_toml(TEMPLATE, words).decode())


def test_a_channel_says_what_was_drafted() -> None:
    column = DraftColumn(
        "Foto_{nn}", "image", "", once=True, required=True, longest=9, repeat=3, begin=0, beside=True,
        mapped=(("InStock", 'in "stock"'), ("OutOfStock", "no")), remarks=("? one", "two\nlines"),
    )  # fmt: skip
    found = read(replace(WORDS, columns=(column,)))
    assert found == {
        "name": "Fair",
        "make": ["feed"],
        "feed": "csv",
        "rows": "variant",
        "text": "plain",
        "dialect": {"separator": ";", "header": True},
        "column": [
            {"heading": "Foto_{nn}", "value": "image", "once": True, "required": True, "longest": 9, "repeat": 3}
            | {"from": 0, "beside": True, "map": {"InStock": 'in "stock"', "OutOfStock": "no"}}
        ],
    }


def test_a_required_column_that_is_still_empty_is_only_marked_so() -> None:
    text = channel_toml(TEMPLATE, replace(WORDS, columns=(DraftColumn("Lid", required=True),))).decode()
    assert "\n# required = true\n" in text


@settings(max_examples=30)
@given(heading=st.text(max_size=30), remark=st.text(max_size=30), name=st.text(max_size=30))
def test_no_heading_remark_or_name_breaks_out_of_its_place(heading: str, remark: str, name: str) -> None:
    column = DraftColumn(heading, remarks=(remark,))
    found = read(replace(WORDS, name=name, sample=remark, columns=(column,)))
    assert found["column"] == [{"heading": heading, "value": ""}]
    assert found["name"] == name


def test_a_file_that_is_there_is_never_overwritten(tmp_path: Path) -> None:
    path = put_channel(tmp_path, "fair", b"one")
    with pytest.raises(FieldError, match="is there already"):
        put_channel(tmp_path, "fair", b"two")
    assert path.read_bytes() == b"one"
    assert path == tmp_path / "channels" / "fair.toml"


def test_a_place_that_cannot_be_written_to_is_told(tmp_path: Path) -> None:
    (tmp_path / "channels").write_bytes(b"")
    with pytest.raises(FieldError):
        put_channel(tmp_path, "fair", b"one")
