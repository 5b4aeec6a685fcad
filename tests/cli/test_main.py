"""The command line as a whole."""

import errno
import importlib
import json
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from listkit.cli import COMMANDS, command_parser, main


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["--help"])
    assert stop.value.code == 0
    told = capsys.readouterr().out
    assert all(f"  {name} " in told for name in COMMANDS)


@pytest.mark.parametrize(("typed", "said"), [
    ("biuld", 'There is no command "biuld". Write "build".\n'),
    ("publish", 'There is no command "publish". listkit --help tells which there are.\n'),
])  # fmt: skip
def test_a_command_that_is_none_is_a_usage_mistake(typed: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    importlib.import_module("listkit.cli.print")  # a command that is called as a function is
    assert main([typed]) == 2
    assert capsys.readouterr().err == said


def test_a_shop_folder_that_is_not_there_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--shop", "nowhere/at all"]) == 1
    told = 'Must fix · the shop folder: "nowhere/at all" is not there. Name it with --shop DIR.  file-missing'
    assert told in capsys.readouterr().out


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_tells_its_options(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main([name, "--help"])
    assert stop.value.code == 0
    assert f"usage: listkit {name}" in capsys.readouterr().out
    assert callable(importlib.import_module(f"listkit.cli.{name}").run)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_two_examples_that_can_be_typed(name: str) -> None:
    command = importlib.import_module(f"listkit.cli.{name}")
    parser = command_parser(name, command)
    shown = parser.format_help()
    assert len(command.EXAMPLES) == 2
    for typed, says in command.EXAMPLES:
        program, first, *words = shlex.split(typed)
        assert (program, first) == ("listkit", name)
        parser.parse_args(words)
        assert f"  {typed}  " in shown
        assert says in shown
        assert len(f"  {typed}  {says}") <= 110


@pytest.mark.parametrize(
    "typed",
    [
        "check --today 2026-11-25 --today 2026-11-26",
        "build --channel stall --channel=web_shop",
        "stock show OH-B01 --shop one --shop two",
        "record --note a --note b stall",
    ],
)
def test_an_option_of_one_value_that_stands_twice_is_told(typed: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The second would take the place of the first without a word."""
    with pytest.raises(SystemExit) as stop:
        main(typed.split())
    assert stop.value.code == 2
    assert "stands twice, with different values; write the one that is meant" in capsys.readouterr().err


def test_an_option_that_stands_twice_with_one_value_or_that_may_is_taken(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--shop", "nowhere", "--shop", "nowhere"]) == 1
    main(["build", "--shop", "nowhere", "--without", "A", "--without", "B"])
    assert "stands twice" not in capsys.readouterr().err


def test_a_reader_who_has_seen_enough_gets_no_traceback() -> None:
    command = [sys.executable, "-m", "listkit", "schema"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as told:
        assert told.stdout is not None
        assert told.stderr is not None
        told.stdout.read(10)
        told.stdout.close()
        assert told.stderr.read() == b""


def test_help_loads_no_library_beyond_the_standard_one() -> None:
    code = (
        "import sys, listkit.cli as c\n"
        "try: c.main(['--help'])\n"
        "except SystemExit: pass\n"
        "print(sorted({'pydantic', 'jinja2', 'PIL', 'rich', 'babel'} & set(sys.modules)))"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.splitlines()[-1] == "[]"


def test_a_build_in_which_nothing_changed_loads_no_library_and_reads_no_shop(tmp_path: Path) -> None:
    assert main(["new", str(tmp_path / "shop")]) == 0
    build = ["build", "--shop", str(tmp_path / "shop"), "--today", "2026-11-25"]
    assert main(build) == 0
    code = (
        "import json, sys; before = set(sys.modules)\n"
        f"import listkit.cli as c; c.main({build}); print(json.dumps(sorted(set(sys.modules) - before)))"
    )
    second = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "0 made" in second.stderr
    loaded = json.loads(second.stdout.splitlines()[-1])
    ours = [name for name in loaded if name.partition(".")[0] == "listkit"]
    assert not {name.partition(".")[0] for name in loaded} - sys.stdlib_module_names - {"listkit"}
    assert not {"sqlite3", "listkit.read.shop", "listkit.read.photos", "listkit.pipeline"} & set(loaded)
    assert len(ours) <= 24
    assert len(loaded) <= 125  # 115 with Python 3.11


@pytest.mark.parametrize("words", [["show", "OHS-1"], ["show", "--all"], ["history", "OHS-1"], ["record", "web_shop"]])
def test_every_command_names_the_shop_folder_that_is_not_there(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*words, "--shop", "nowhere"]) == 1
    assert '"nowhere" is not there' in capsys.readouterr().err


@pytest.mark.parametrize(("typed", "said"), [
    ("plan --today tomorrow", 'argument --today: "tomorrow" is no day. Write it as 2026-12-05.'),
    ("plan --today 9999-12-31", "argument --today: the year 9999 cannot be meant. Write one from 1900 to 2199."),
    ("stock start --day 2027-02-29", 'argument --day: "2027-02-29" is no day. Write it as 2026-12-05.'),
    ("print market --place stall --day x", 'argument --day: "x" is no day. Write it as 2026-12-05.'),
    ("print labels --start four", 'argument --start: "four" is no whole number. Write it as 3.'),
    ("season winter --again 99999999999", 'argument --again: "99999999999" is no whole number. Write it as 3.'),
    ("season winter --again next", 'argument --again: "next" is no whole number. Write it as 3.'),
])  # fmt: skip
def test_a_day_or_number_that_is_none_is_told_in_plain_words(
    typed: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stop:
        main(shlex.split(typed))
    assert (stop.value.code, capsys.readouterr().err.endswith(f"error: {said}\n")) == (2, True)


def blocked_realpath(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stand for a link that may not be read, as /proc/1/root is to other programs: asking where it leads raises."""

    def refused(path: str, **_: object) -> str:
        raise PermissionError(errno.EACCES, "Permission denied", path)

    monkeypatch.setattr("os.path.realpath", refused)


@pytest.mark.parametrize(
    "words",
    [
        *([name, "--out", "else"] for name in ("build", "check", "plan", "changes", "record", "show")),
        ["history", "OH-B01", "--svg", "else"],
        ["season", "winter", "--page", "else"],
        ["learn", "else", "--name", "Web"],
        ["stock", "--shop", "else"],
        ["new", "else"],
    ],
)
def test_a_place_that_nobody_may_look_into_is_told(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    blocked_realpath(monkeypatch)
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2
    assert '"else" cannot be looked into: Permission denied. Name another place.' in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [["history", ""], ["build", "--channel", ""], ["check", "--explain", " "], ["build", "--shop="], ["print", ""]],
)
def test_an_empty_argument_stands_for_nothing(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert "An argument is empty." in capsys.readouterr().err
