"""Problems as lines: of thousands that are alike a bounded number is shown, the rest is counted."""

from listkit import bounds
from listkit.present.problems import problem_lines, problems_json
from listkit.problem import Level, Place, Problem

MANY = [
    *(Problem(Place("items.csv", line), "bad-value", f"fault {line}.", "Mend it.") for line in range(5_000)),
    *(Problem(Place("shop.toml", line), "starter-left", "it is ours.", "", Level.LOOK_AT) for line in range(3)),
]


def lines(problems: list[Problem], *, brief: bool = False, whole: bool = False) -> list[str]:
    return [*problem_lines(problems, lambda text, _role: text, brief=brief, whole=whole)]


def test_thousands_of_problems_are_cut_with_a_count() -> None:
    shown = lines(MANY)
    assert sum("bad-value" in line and "·" in line for line in shown) == bounds.SHOWN_OF_KIND
    assert sum("starter-left" in line for line in shown) == 3, "another kind is not hidden behind the many"
    assert shown[-3] == "4,800 more like these: 4,800 bad-value; listkit check --all shows them."
    assert shown[-1] == "5000 to fix, 3 to look at. Begin with items.csv."


def test_what_was_not_looked_for_is_always_said() -> None:
    """Behind thousands of others, and where a build prints only what must be fixed."""
    remark = Problem(Place("items.csv"), "not-looked-for", "there are many.", "Mend these.", Level.LOOK_AT)
    for shown in (lines([*MANY, remark]), lines([*MANY, remark], brief=True)):
        assert [line for line in shown if "not-looked-for" in line] == [
            "Look at · items.csv: there are many. Mend these.  not-looked-for"
        ]


def test_kinds_together_are_cut_too() -> None:
    kinds = [Problem(Place("items.csv", at), f"kind-{at % 40}", "it is wrong.", "") for at in range(4_000)]
    assert sum("·" in line for line in lines(kinds)) == bounds.SHOWN


def test_all_are_shown_where_they_are_asked_for_and_to_scripts() -> None:
    assert sum("·" in line for line in lines(MANY, whole=True)) == len(MANY)
    assert not any("more like these" in line for line in lines(MANY, whole=True))
    assert len(problems_json(MANY)["problems"]) == len(MANY)


def test_what_names_the_rest_is_the_command_that_shows_it() -> None:
    assert lines(MANY, brief=True)[-1].endswith("listkit check --all shows all.")
    assert lines(MANY[:5] + MANY[-3:], brief=True)[-1].endswith("listkit check shows all.")
    assert lines(MANY[:5])[-1] == "5 to fix, 0 to look at. Begin with items.csv."
