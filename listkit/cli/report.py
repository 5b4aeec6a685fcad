"""Prints what commands have to say: results as JSON on stdout; problems, talk and good news on stderr."""

import json
import sys
from collections.abc import Sequence
from textwrap import wrap
from typing import Final, TextIO

from listkit.cli.terminal import BOLD, DIM, GREEN, RED, YELLOW, painted, width_of
from listkit.present.problems import ALL_BY, problem_lines, problems_json
from listkit.problem import FieldError, Level, Problem, escaped

_PAINT: Final = {Level.MUST_FIX.name: RED, Level.LOOK_AT.name: YELLOW, "code": DIM, "closing": BOLD}


def print_problems(
    problems: Sequence[Problem], stream: TextIO, *, brief: bool = False, whole: bool = False, all_by: str = ALL_BY
) -> None:
    """Print problems to `stream`, coloured and wrapped on a terminal; `brief`: what must be fixed, and counts.

    Of thousands those beyond a bounded number are counted, unless `whole`, with the command that shows them all.
    """

    def paint(text: str, role: str) -> str:
        return painted(text, _PAINT[role], stream)

    for line in problem_lines(problems, paint, brief=brief, width=width_of(stream), whole=whole, all_by=all_by):
        print(line, file=stream)


def print_refusal(problems: Sequence[Problem], *, as_json: bool, brief: bool = False) -> None:
    """Print the problems that stopped a command: to stderr, or as its JSON."""
    if as_json:
        print_json(problems_json(problems))
    else:
        print_problems(problems, sys.stderr, brief=brief)


def print_json(facts: object) -> None:
    """Print the result of a command for scripts."""
    print(escaped(json.dumps(facts, indent=2, ensure_ascii=False)))


def print_wrapped(text: str, stream: TextIO) -> None:
    """Print one thought that belongs to a result, wrapped on a terminal."""
    width = width_of(stream)
    print("\n".join(wrap(text, width)) if width else text, file=stream)


def say(text: str) -> None:
    """Print talk, which goes to stderr so that results alone stand on stdout."""
    print(text, file=sys.stderr)


def say_fault(fault: FieldError, before: str = "") -> None:
    """Print why a command cannot go on, and what to do."""
    say(f"{before}{fault.message} {fault.hint}".rstrip())


def say_part(in_part: bool) -> bool:
    """Print that movements cannot all be read, where it is so: what follows from them may be wrong."""
    if in_part:
        say("Not all of movements.csv can be read, so stock and what was sold may be wrong: listkit check says what.")
    return in_part


def say_done(text: str) -> None:
    """Print good news."""
    say(painted(text, GREEN, sys.stderr))
