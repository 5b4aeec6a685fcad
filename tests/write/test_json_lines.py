"""Tests of JSON Lines."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.problem import FieldError
from listkit.write.json_text import canonical, lines_fault, write_lines

OBJECTS = st.lists(
    st.dictionaries(st.text(st.characters(codec="utf-8")), st.text(st.characters(codec="utf-8"))), max_size=4
)


def test_a_value_a_line_in_utf_8_without_a_mark_each_ended_by_a_line_feed(tmp_path: Path) -> None:
    """jsonlines.org, the three requirements: UTF-8 without mark, a valid JSON value a line, line feeds."""
    path = tmp_path / "a.jsonl"
    write_lines(path, [canonical({"a": "é\n\u2028"}), canonical({})])
    assert path.read_bytes() == '{"a":"é\\n\u2028"}\n{}\n'.encode()


@given(OBJECTS)
def test_whatever_the_text_there_is_one_line_a_value(
    tmp_path_factory: pytest.TempPathFactory, values: list[dict[str, str]]
) -> None:
    path = tmp_path_factory.getbasetemp() / "any.jsonl"
    path.unlink(missing_ok=True)
    lines = [canonical(value) for value in values]
    write_lines(path, lines)
    assert path.read_bytes().count(b"\n") == len(values)
    assert lines_fault(path, lines) == ""


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b'{"a":1}\n', "line 2 is missing."),
        (b'{"a":1}\n{"b":2}\n{"c":3}\n', "line 3 is too many."),
        (b'{"a":1}\n{"b":3}\n', "line 2 is not the one that was asked for."),
        (b'{"a":1}\n{"b": 2}\n', "line 2 is not the one that was asked for."),
        (b'{"a":1}\n{"b":2}', "line 2 is not the one that was asked for."),
        (b'{"a":1}\n{"b":2}\r\n', "line 2 is not the one that was asked for."),
        (b'\xef\xbb\xbf{"a":1}\n{"b":2}\n', "it is no JSON: "),
        (b'{"a":1}\n{"b":2,"b":2}\n', "it is no JSON: a name stands twice in one object."),
        (b'{"a":1}\n\xff\n', "it is no JSON: "),
    ],
)
def test_what_is_wrong_with_the_lines_is_told(tmp_path: Path, content: bytes, fault: str) -> None:
    path = tmp_path / "a.jsonl"
    path.write_bytes(content)
    assert lines_fault(path, ['{"a":1}', '{"b":2}']).startswith(fault)


def test_half_a_surrogate_pair_is_told_in_the_owners_words(tmp_path: Path) -> None:
    with pytest.raises(FieldError, match="line 1 holds"):
        write_lines(tmp_path / "a.jsonl", ['"\ud800"'])
