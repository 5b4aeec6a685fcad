"""Pages: what a layout may do and what it may not, and what other programs say of the PDF."""

import datetime
import http.server
import json
import shutil
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pikepdf
import pytest
from PIL import Image

from listkit.problem import FieldError
from listkit.write.print import Layout, UnshownError, print_pdf, printer, verify_pdf

QPDF, PDFINFO, PDFTEXT = shutil.which("qpdf"), shutil.which("pdfinfo"), shutil.which("pdftotext")
HEAD = '#set document(title: "A page")\n#set text(lang: "en")\n'
GOOD = HEAD + '= A page\n#let facts = json("facts.json")\n#facts.words\n#image("pictures/a.png", alt: facts.alt)\n'
FACTS = json.dumps({"words": "Café & #panic() *bold* @preview/x", "alt": "A red square"})


def layout(text: str, facts: str = FACTS, **more: str) -> Layout:
    return Layout((("print/page.typ", text), *more.items()), facts, datetime.date(2027, 1, 15))


@pytest.fixture
def picture(tmp_path: Path) -> tuple[tuple[str, Path], ...]:
    Image.new("RGB", (20, 20), "#c00").save(tmp_path / "red.png")
    return (("a.png", tmp_path / "red.png"),)


def fault_of(one: Layout, tmp_path: Path, *, seconds: int = 20) -> str:
    (tmp_path / "old.pdf").write_bytes(b"the last build's")
    with pytest.raises(FieldError) as fault:
        print_pdf(tmp_path / "old.pdf", one, seconds=seconds)
    assert (tmp_path / "old.pdf").read_bytes() == b"the last build's"
    return f"{fault.value.message} {fault.value.hint}"


def test_a_page_is_tagged_and_claims_pdf_ua_and_pdf_a(tmp_path: Path, picture: tuple[tuple[str, Path], ...]) -> None:
    """ISO 14289-1 and ISO 19005-2, by what pikepdf sees in the file: passes these checks, which certifies nothing."""
    print_pdf(tmp_path / "a.pdf", layout(GOOD), picture)
    with pikepdf.open(tmp_path / "a.pdf") as pdf:
        root = pdf.Root
        assert bool(root.MarkInfo.Marked)
        assert "/StructTreeRoot" in root
        assert str(root.Lang) == "en"
        assert bool(root.ViewerPreferences.DisplayDocTitle)
        tables = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary)]
        figures = [one for one in tables if one.get("/S") == "/Figure"]
        assert [str(one.Alt) for one in figures] == ["A red square"]
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
            assert (metadata["pdfaid:part"], metadata["pdfaid:conformance"]) == ("2", "A")
            assert str(metadata["xmp:CreateDate"]).startswith("2027-01-15")
        fonts = [one for one in tables if one.get("/Type") == "/FontDescriptor"]
        assert fonts
        assert all({"/FontFile", "/FontFile2", "/FontFile3"} & set(one.keys()) for one in fonts)


@pytest.mark.skipif(QPDF is None, reason="qpdf is not installed")
def test_qpdf_finds_no_fault_in_a_page(tmp_path: Path, picture: tuple[tuple[str, Path], ...]) -> None:
    print_pdf(tmp_path / "a.pdf", layout(GOOD), picture)
    assert QPDF is not None
    ended = subprocess.run([QPDF, "--check", str(tmp_path / "a.pdf")], capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stderr) == (0, "")


@pytest.mark.skipif(PDFTEXT is None or PDFINFO is None, reason="poppler is not installed (Debian: poppler-utils)")
def test_poppler_calls_it_tagged_and_reads_facts_as_the_words_that_they_are(
    tmp_path: Path, picture: tuple[tuple[str, Path], ...]
) -> None:
    print_pdf(tmp_path / "a.pdf", layout(GOOD), picture)
    told = subprocess.run([str(PDFINFO), str(tmp_path / "a.pdf")], capture_output=True, text=True, check=True).stdout
    assert "Tagged:          yes" in told
    words = subprocess.run([str(PDFTEXT), str(tmp_path / "a.pdf"), "-"], capture_output=True, text=True, check=True)
    assert "Café & #panic() *bold* @preview/x" in words.stdout


def test_the_same_page_has_the_same_bytes_every_time(tmp_path: Path, picture: tuple[tuple[str, Path], ...]) -> None:
    for name in ("a.pdf", "b.pdf"):
        print_pdf(tmp_path / name, layout(GOOD), picture)
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
    assert verify_pdf(tmp_path / "a.pdf", print_pdf, ()) == ""


def test_a_layout_may_use_another_that_is_named(tmp_path: Path) -> None:
    shared = {"print/shared.typ": "#let greet(who) = [Hello #who]"}
    text = HEAD + '#import "shared.typ": greet\n#greet[you]'
    print_pdf(tmp_path / "a.pdf", layout(text, **shared))
    assert (tmp_path / "a.pdf").stat().st_size > 0


@pytest.mark.parametrize(
    "reach",
    [
        '#read("/etc/passwd")',
        '#read("../../../etc/passwd")',
        '#image("/etc/hostname", alt: "x")',
        '#include "other.typ"',
        '#import "/tmp/x.typ": y',
        '#csv("pictures/../../../etc/passwd")',
    ],
)
def test_a_layout_that_reads_what_it_is_not_given_is_told_with_its_line(reach: str, tmp_path: Path) -> None:
    told = fault_of(layout(f"{HEAD}{reach}"), tmp_path)
    assert told == (
        "templates/print/page.typ, line 3: it reads a file that it is not given. "
        "It may read page.typ, facts.json, pictures/…."
    )


@contextmanager
def listener() -> Iterator[tuple[int, list[str]]]:
    """A server of this machine that remembers what was asked of it."""
    asked: list[str] = []

    class Remembering(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_error(404)

        do_CONNECT = do_GET  # noqa: N815 (named by the library)

        def log_message(self, *_: object) -> None:
            return

    server = http.server.HTTPServer(("127.0.0.1", 0), Remembering)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield server.server_port, asked
    finally:
        server.shutdown()
        server.server_close()


@pytest.mark.parametrize(
    "package",
    ['"@preview/some:0.1.0"', '"@pre" + "view/some:0.1.0"', '"@local/some:0.1.0"', '"@" + "other/some:1.0.0"'],
)
def test_a_layout_that_asks_for_a_package_is_told_and_nothing_is_fetched(
    package: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with listener() as (port, asked):
        for name in ("HTTPS_PROXY", "https_proxy", "ALL_PROXY"):
            monkeypatch.setenv(name, f"http://127.0.0.1:{port}")
        told = fault_of(layout(f"{HEAD}#import {package}: x"), tmp_path)
    assert told == (
        "templates/print/page.typ, line 3: it asks for a package. "
        "Copy what it needs into the layout; nothing is fetched."
    )
    assert asked == []


@pytest.mark.parametrize(
    "endless",
    [
        "#let n = 0\n#for a in range(99999) { for b in range(99999) { n += 1 } }",
        '#let a = ("x",)\n#for i in range(60) { a = a + a }',
        '#let a = "x"\n#for i in range(60) { a = a + a }',
        "#for i in range(4000000000) [a]",
    ],
)
def test_a_layout_without_end_is_stopped_and_the_last_build_stays(endless: str, tmp_path: Path) -> None:
    started = time.monotonic()
    told = fault_of(layout(HEAD + endless), tmp_path, seconds=1)
    assert time.monotonic() - started < 15
    assert told.startswith("the layout templates/print/page.typ ")
    assert told.endswith("Look for what it repeats without end, or print less at once.")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("#let x = (", "line 1: unclosed delimiter."),
        ("#set document(title: [x])\n#nothing", "line 2: unknown variable: nothing."),
        (HEAD + '#image("pictures/a.png")', "line 3: it reads a file that it is not given."),
        ("words", "print/page.typ: PDF/UA-1 error: missing document title."),
    ],
)
def test_a_fault_of_a_layout_is_told_with_its_line(text: str, says: str, tmp_path: Path) -> None:
    assert says in fault_of(layout(text), tmp_path)


def test_a_fault_in_a_shared_layout_is_told_where_it_stands(tmp_path: Path) -> None:
    shared = {"print/shared.typ": "\n\n#let greet = nobody"}
    assert "templates/print/shared.typ, line 3: unknown variable" in fault_of(
        layout('#import "shared.typ": greet', **shared), tmp_path
    )


def test_a_picture_without_words_is_a_fault(tmp_path: Path, picture: tuple[tuple[str, Path], ...]) -> None:
    with pytest.raises(FieldError, match="missing alt text"):
        print_pdf(tmp_path / "a.pdf", layout(HEAD + '#image("pictures/a.png")'), picture)


def test_a_sign_that_no_font_has_is_told_with_the_words_it_stands_in(tmp_path: Path) -> None:
    facts = json.dumps({"lines": [{"name": "Tea for 日本"}]})
    told = fault_of(layout(HEAD + '#json("facts.json").lines.first().name', facts), tmp_path)
    assert told == 'no font of ours has the sign "日", as in "Tea for 日本". Write it otherwise.'


def test_one_run_finds_every_sign_that_no_font_has(tmp_path: Path) -> None:
    """Each other sign cost a run of the page compiler: 60 cards with words in 60 of them took 10 s."""
    facts = json.dumps({"lines": ["Tea for 日本", "Soap \u0378", "日 and 💐"]}, ensure_ascii=False)
    with pytest.raises(UnshownError) as told:
        print_pdf(tmp_path / "a.pdf", layout(HEAD + '#json("facts.json").lines.join(parbreak())', facts))
    assert set(told.value.signs) == {"日", "本", "\u0378", "💐"}
    assert str(told.value).startswith(f'no font of ours has the sign "{told.value.signs[0]}"')


@pytest.mark.parametrize(
    ("sign", "shown"), [("\uf8ff", "U+F8FF"), ("\ue000", "U+E000"), ("\u0378", "U+0378"), ("\u1680", "U+1680")]
)
def test_a_sign_without_a_look_is_told_by_its_number(sign: str, shown: str, tmp_path: Path) -> None:
    """What the compiler names by an escape was told as a fault of the layout, with the advice to take another font."""
    text = HEAD + '#set text(font: "Libertinus Serif")\n#json("facts.json").words'
    told = fault_of(layout(text, json.dumps({"words": f"Tea {sign} for two"}, ensure_ascii=False)), tmp_path)
    assert told == f'no font of ours has the sign "{shown}", as in "Tea {sign} for two". Write it otherwise.'


def test_marks_heaped_upon_one_letter_are_not_printed_over_other_lines(tmp_path: Path) -> None:
    facts = json.dumps({"words": "Cafe" + "\u0301" * 300 + " au lait"}, ensure_ascii=False)
    told = fault_of(layout(HEAD + '#json("facts.json").words', facts), tmp_path)
    assert told == '300 marks stand upon one letter, as in "Cafe\u0301 au lait". Write it otherwise.'


@pytest.mark.parametrize("spoil", [lambda c: c[:-20], lambda c: b"x" + c, lambda c: c[:9] + c[99:], lambda _: b""])
def test_a_spoilt_pdf_does_not_take_its_place(spoil: object, tmp_path: Path) -> None:
    print_pdf(tmp_path / "a.pdf", layout(HEAD + "words"))
    assert callable(spoil)
    (tmp_path / "a.pdf").write_bytes(spoil((tmp_path / "a.pdf").read_bytes()))
    assert verify_pdf(tmp_path / "a.pdf", print_pdf, ()) != ""


def test_the_printer_names_its_version() -> None:
    assert printer().startswith("typst 0.")
