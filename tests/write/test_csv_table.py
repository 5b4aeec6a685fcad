"""Tests of tables in CSV, in every dialect."""

import csv
from collections.abc import Iterable
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.listing.cells import guarded
from listkit.model.channel import Dialect
from listkit.problem import FieldError
from listkit.write.csv_feed import CsvForm, table_fault, with_header, write_table

Row = tuple[str, ...]
DIALECTS = tuple(
    Dialect.model_validate(
        {"separator": separator, "quote": quote, "encoding": encoding, "line_end": line_end}
        | {"byte_order_mark": mark, "guard_formulas": guard, "decimal": "," if separator == ";" else "."}
    )
    for separator, quote, encoding, line_end, (mark, guard) in product(
        ",;\t|", ("needed", "all"), ("utf-8", "windows-1252", "utf-16"), ("crlf", "lf"), ((True, False), (False, True))
    )
)
SIGNS = st.sampled_from([*",;\t|\"'=+-@\r\n\0 \x0b\x1c", "\r\n", '""', "é", "a"])
WIDE = st.sampled_from("\ufeff\u2028\x85\u0301🐝")
ANY = st.lists(SIGNS | WIDE | st.characters(exclude_categories=["Cs"]), max_size=12).map("".join)
WESTERN = st.lists(SIGNS | st.characters(codec="cp1252"), max_size=12).map("".join)


def written(path: Path, rows: Iterable[Row], dialect: Dialect) -> bytes:
    write_table(path, rows, CsvForm.of(dialect))
    return path.read_bytes()


def read(path: Path, dialect: Dialect) -> list[Row]:
    """Read a table by nothing of ours: Python's decoders and its csv module."""
    marked = {"utf-8": "utf-8-sig" if dialect.byte_order_mark else "utf-8", "utf-16": "utf-16"}
    encoding = marked.get(dialect.encoding, dialect.encoding)
    with path.open(encoding=encoding, newline="") as file:
        return [tuple(row) for row in csv.reader(file, delimiter=dialect.separator, strict=True)]


def test_quotes_and_line_ends_inside_cells_are_written_as_rfc_4180_shows_them(tmp_path: Path) -> None:
    """RFC 4180, section 2, rules 6 and 7, with every cell in quotes as there."""
    rows = [("aaa", "b\r\nbb", "ccc"), ("aaa", 'b"bb', "ccc")]
    expected = b'"aaa","b\r\nbb","ccc"\r\n"aaa","b""bb","ccc"\r\n'
    assert written(tmp_path / "a.csv", rows, Dialect(quote="all")) == expected


def test_only_cells_that_need_quotes_have_them(tmp_path: Path) -> None:
    """RFC 4180, section 2, rules 5 to 7."""
    rows = [("aaa", "b\r\nbb", "c,c"), ("a a", 'b"bb', "")]
    expected = b'aaa,"b\r\nbb","c,c"\r\na a,"b""bb",\r\n'
    assert written(tmp_path / "a.csv", rows, Dialect()) == expected


@pytest.mark.parametrize(
    ("cell", "expected"),
    [('=1+2";=1+2', '''"'=1+2"";=1+2"'''), ("""=1+2'" ;,=1+2""", '''"'=1+2'"" ;,=1+2"''')],
)
@pytest.mark.parametrize("separator", [",", ";"])
def test_formulas_come_out_as_owasp_publishes_them(tmp_path: Path, cell: str, expected: str, separator: str) -> None:
    """OWASP, CSV Injection: the two pairs of a cell and what it should become."""
    dialect = Dialect.model_validate({"separator": separator})
    assert written(tmp_path / "a.csv", [(guarded(cell),)], dialect).decode() == f"{expected}\r\n"


@pytest.mark.parametrize("other", [";", "\t", "|"])
def test_no_part_of_a_guarded_cell_stands_bare_behind_a_separator_that_other_programs_split_at(
    tmp_path: Path, other: str
) -> None:
    """OWASP, CSV Injection: a separator inside a cell can start a new cell."""
    made = written(tmp_path / "a.csv", [("one", f"two{other}=1+2")], Dialect())
    assert made == f'one,"two{other}=1+2"\r\n'.encode()


def test_a_decimal_comma_stands_bare_behind_a_semicolon(tmp_path: Path) -> None:
    dialect = Dialect(separator=";", decimal=",")
    assert written(tmp_path / "a.csv", [("29,50", "a")], dialect) == b"29,50;a\r\n"


def test_a_lone_carriage_return_is_quoted_where_rows_end_in_a_line_feed(tmp_path: Path) -> None:
    assert written(tmp_path / "a.csv", [("a\rb", "c")], Dialect(line_end="lf")) == b'"a\rb",c\n'


@pytest.mark.parametrize(
    ("encoding", "mark", "expected"),
    [
        ("utf-8", False, b"\xc3\xa9\r\n"),
        ("utf-8", True, b"\xef\xbb\xbf\xc3\xa9\r\n"),
        ("windows-1252", True, b"\xe9\r\n"),
        ("utf-16", False, b"\xff\xfe\xe9\x00\r\x00\n\x00"),
    ],
)
def test_bytes_are_those_of_the_encoding_with_its_mark(
    tmp_path: Path, encoding: str, mark: bool, expected: bytes
) -> None:
    """RFC 3629 (UTF-8), RFC 2781, 3.3 (UTF-16 begins with a mark), code page 1252."""
    dialect = Dialect.model_validate({"encoding": encoding, "byte_order_mark": mark})
    assert written(tmp_path / "a.csv", [("é",)], dialect) == expected


def test_a_sign_that_the_encoding_has_not_is_told_with_its_cell(tmp_path: Path) -> None:
    with pytest.raises(FieldError) as fault:
        written(tmp_path / "a.csv", [("code", "b"), ("OHS-1", "→")], Dialect(encoding="windows-1252"))
    assert fault.value.message == 'row 2 (OHS-1), column 2 of the table: windows-1252 has no "→" (U+2192).'


@pytest.mark.parametrize("dialect", DIALECTS)
@settings(max_examples=12, deadline=None)
@given(source=st.data())
def test_any_text_in_any_cell_comes_back(
    tmp_path_factory: pytest.TempPathFactory, dialect: Dialect, source: st.DataObject
) -> None:
    cells = WESTERN if dialect.encoding == "windows-1252" else ANY
    width = source.draw(st.integers(1, 4))
    rows = source.draw(
        st.lists(st.tuples(*[cells.map(guarded if dialect.guard_formulas else str)] * width), max_size=4)
    )
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.unlink(missing_ok=True)
    write_table(path, rows, CsvForm.of(dialect))
    assert read(path, dialect) == rows
    assert table_fault(path, rows, CsvForm.of(dialect)) == ""


@pytest.mark.parametrize("dialect", [dialect for dialect in DIALECTS if dialect.separator in ",;"])
def test_a_table_with_any_one_byte_changed_is_no_longer_the_table(tmp_path: Path, dialect: Dialect) -> None:
    rows: list[Row] = [("code", "text"), ("A", "é, “x”"), ("B", 'a "b"\r\nc')]
    path, form = tmp_path / "a.csv", CsvForm.of(dialect)
    whole = written(path, rows, dialect)
    for at, other in product(range(len(whole)), (0x0A, 0x0D, 0x22, 0x2C, 0x3B, 0x20, 0x41, 0x00, 0xFF)):
        if whole[at] != other:
            path.unlink()  # a file that is cut short and written again waits for the disk
            path.write_bytes(whole[:at] + bytes([other]) + whole[at + 1 :])
            assert table_fault(path, rows, form), (at, other)


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"a,b\r\n", "it ends before row 2."),
        (b"a,b\r\nc,d\r\ne,f\r\n", "row 3 was not asked for."),
        (b"a,b\r\nc,D\r\n", "row 2 is not the one that was asked for."),
        (b"a,b\nc,d\r\n", "row 1 does not end as every row should."),
        (b"a,b\r\nc,d", "row 2 does not end as every row should."),
        (b"a,b\r\nc,\xff\r\n", "byte 7 is no utf-8."),
        (b'a,b\r\nc,"d\r\n', "it is no CSV: unexpected end of data."),
    ],
)
def test_what_is_wrong_with_a_table_is_told(tmp_path: Path, content: bytes, fault: str) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(content)
    assert table_fault(path, [("a", "b"), ("c", "d")], CsvForm.of(Dialect())) == fault


def test_a_missing_byte_order_mark_is_told(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"a\r\n")
    assert table_fault(path, [("a",)], CsvForm.of(Dialect(byte_order_mark=True))) == "the byte order mark is missing."


def test_a_cell_longer_than_the_csv_module_reads_by_itself_comes_back(tmp_path: Path) -> None:
    before = csv.field_size_limit()
    rows = [("x" * 300_000,)]
    written(tmp_path / "a.csv", rows, Dialect())
    assert table_fault(tmp_path / "a.csv", rows, CsvForm.of(Dialect())) == ""
    assert csv.field_size_limit() == before


def test_a_header_is_there_unless_the_dialect_has_none_and_is_guarded_as_text() -> None:
    assert list(with_header(("=a", "b"), [("1", "2")], Dialect())) == [("'=a", "b"), ("1", "2")]
    assert list(with_header(("=a",), [], Dialect(guard_formulas=False))) == [("=a",)]
    assert list(with_header(("a",), [("1",)], Dialect(header=False))) == [("1",)]
