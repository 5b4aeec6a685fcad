"""On a terminal problems are wrapped under the heading of their file; elsewhere each is one line."""

import io
import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.cli import main
from listkit.cli.report import print_problems
from listkit.present.problems import problem_lines
from listkit.problem import Level, Place, Problem

PROBLEMS = (
    Problem(
        Place("items.csv", 4, "OH-B01", "retail"), "bad-value", '"14,00" has a comma.', 'Write "14.00" with a point.'
    ),
    Problem(Place("items.csv", 5, "OH-B02", "net"), "bad-value", "it is odd.", "Write 110 g."),
    Problem(Place("shop.toml"), "band-missed", "A " + "long " * 30 + "story.", own_level=Level.LOOK_AT),
    Problem(Place("sets/a/set.toml", 7), "no-box", "it has no box.", own_level=Level.LOOK_AT, draft=True),
)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True

    def fileno(self) -> int:
        return 1


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], str]:
    def show(width: int) -> str:
        monkeypatch.setenv("NO_COLOR", "1")
        monkeypatch.setattr(os, "get_terminal_size", lambda *_: os.terminal_size((width, 24)))
        terminal = Terminal()
        print_problems(PROBLEMS, terminal)
        return terminal.getvalue()

    return show


def test_a_terminal_has_a_heading_a_file_and_a_hanging_indent(shown: Callable[[int], str]) -> None:
    assert (
        shown(60)
        == """\
items.csv
  Must fix · row OH-B01, column retail: "14,00" has a comma.
    Write "14.00" with a point.  bad-value
  Must fix · row OH-B02, column net: it is odd. Write 110 g.
    bad-value

shop.toml
  Look at · A long long long long long long long long long
    long long long long long long long long long long long
    long long long long long long long long long long story.
    band-missed

sets/a/set.toml
  Still to do · line 7: it has no box.  no-box

2 to fix, 1 to look at, 1 still to do in drafts. Begin with
items.csv.
"""
    )


def test_no_line_is_wider_than_the_terminal_and_no_word_is_lost(shown: Callable[[int], str]) -> None:
    piped = io.StringIO()
    print_problems(PROBLEMS, piped)
    for width in (40, 72, 100, 300):
        text = shown(width)
        assert max(map(len, text.splitlines())) <= width
        assert sorted(set(re.split(r"\W+", text))) == sorted(set(re.split(r"\W+", piped.getvalue())))


def test_elsewhere_a_problem_is_one_line_as_before() -> None:
    piped = io.StringIO()
    print_problems(PROBLEMS, piped)
    first, second, _, third, _, fourth, *_ = piped.getvalue().splitlines()
    assert first == (
        'Must fix · items.csv, row OH-B01, column retail: "14,00" has a comma. Write "14.00" with a point.  bad-value'
    )
    assert (second[:21], third[:21], fourth[:13]) == ("Must fix · items.csv,", "Look at · shop.toml: ", "Still to do ·")


def test_colours_are_those_of_level_and_code(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(os, "get_terminal_size", lambda *_: os.terminal_size((60, 24)))
    terminal = Terminal()
    print_problems(PROBLEMS[:1], terminal)
    assert terminal.getvalue().splitlines()[:3] == [
        "\033[1mitems.csv\033[0m",
        '  \033[31mMust fix\033[0m · row OH-B01, column retail: "14,00" has a comma.',
        '    Write "14.00" with a point.  \033[2mbad-value\033[0m',
    ]


@given(message=st.text(max_size=300), hint=st.text(max_size=60), width=st.integers(20, 120))
def test_whatever_a_message_holds_its_words_are_all_there(message: str, hint: str, width: int) -> None:
    problem = Problem(Place("items.csv", 4), "bad-value", message, hint)
    lines = list(problem_lines((problem,), lambda text, _: text, width=width))
    words = f"Must fix · line 4: {message} {hint} bad-value".split()
    end = len(lines) - lines[::-1].index("") - 1
    assert lines[0] == "items.csv"
    assert " ".join(lines[1:end]).split() == words


def test_a_check_on_a_terminal_of_unknown_width_is_wrapped_at_eighty(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(["new", str(tmp_path / "shop")]) == 0
    capsys.readouterr()
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.setenv("NO_COLOR", "1")
    main(["check", "--shop", str(tmp_path / "shop"), "--today", "2026-11-25"])
    lines = capsys.readouterr().out.splitlines()
    assert lines
    assert max(map(len, lines)) <= 80
