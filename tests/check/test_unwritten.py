"""What a new set leaves to be written is told until it is.

Our own marks: no source.
"""

from listkit.model.gift_set import TO_WRITE
from tests.check.found import all_found
from tests.small_shop import gift_set, item, shop


def found(theme: str, story: str) -> list[tuple[str, int]]:
    one = gift_set([{"item": "A-1"}], theme=theme)
    of = shop([item("A-1", cost="0.20")], [one], stories={"SET-1": story})
    return [(one.place.file, one.place.line) for one in all_found(of) if one.code == "unwritten"]


def test_the_theme_and_each_line_of_the_story_are_told_where_they_stand() -> None:
    told = found(f"{TO_WRITE}: one sentence", f"{{{{ items }}}}\n\n{TO_WRITE}: more.\n")
    assert sorted(told) == [("sets/set-1/set.toml", 0), ("sets/set-1/story.md", 3)]


def test_what_is_written_is_not_told() -> None:
    assert found("A quiet start.", "Write here and now: {{ items }}.") == []
