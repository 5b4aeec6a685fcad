"""The command line as a whole."""

import importlib
import subprocess
import sys

import pytest

from listkit.cli import COMMANDS, main


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["--help"])
    assert stop.value.code == 0
    told = capsys.readouterr().out
    assert all(f"  {name} " in told for name in COMMANDS)


def test_a_command_that_is_none_is_a_usage_mistake(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["biuld"])
    assert stop.value.code == 2
    assert "biuld" in capsys.readouterr().err


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_tells_its_options(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main([name, "--help"])
    assert stop.value.code == 0
    assert f"usage: listkit {name}" in capsys.readouterr().out
    assert callable(importlib.import_module(f"listkit.cli.{name}").run)


def test_a_reader_who_has_seen_enough_gets_no_traceback() -> None:
    code = "import sys; from listkit.cli import main; sys.exit(main(['schema']))"
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as told:
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
