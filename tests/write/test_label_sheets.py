"""What labels and cards have in common: in how many files they lie, and what is told of those that do not fit."""

from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.labels import sheet_plan
from listkit.model.labels import Cards, Labels
from listkit.units.shown import METRIC
from listkit.write.labels import parts_of, told_short

FOUR_A_SHEET = Labels.model_validate({"size": "96 x 134 mm"})
PATH, TITLE = "print/outside-labels.pdf", "Outside labels"


def test_what_one_file_can_hold_lies_in_one() -> None:
    [part] = parts_of(("a", "b", "c"), PATH, TITLE, FOUR_A_SHEET)
    assert (part.path, part.title, part.texts) == (PATH, TITLE, ("a", "b", "c"))


def test_more_lies_in_several_that_are_numbered() -> None:
    """400 labels a file, 200 where each has two faces: what is laid out at once stays in memory."""
    texts = tuple(range(1001))
    assert [(part.path, part.title, len(part.texts)) for part in parts_of(texts, PATH, TITLE, FOUR_A_SHEET)] == [
        ("print/outside-labels-1.pdf", "Outside labels 1/3", 400),
        ("print/outside-labels-2.pdf", "Outside labels 2/3", 400),
        ("print/outside-labels-3.pdf", "Outside labels 3/3", 201),
    ]
    assert [len(part.texts) for part in parts_of(texts, PATH, TITLE, FOUR_A_SHEET, faces=2)] == [200] * 5 + [1]


@given(count=st.integers(1, 3000), wide=st.integers(20, 200), high=st.integers(20, 280), faces=st.sampled_from([1, 2]))
def test_every_text_lies_in_one_file_once_and_only_the_last_sheet_has_room(
    count: int, wide: int, high: int, faces: int
) -> None:
    texts = tuple(range(count))
    laid = Cards.model_validate({"size": f"{wide} x {high} mm"})
    parts = tuple(parts_of(texts, PATH, TITLE, laid, faces))
    assert tuple(text for part in parts for text in part.texts) == texts
    assert len({part.path for part in parts}) == len({part.title for part in parts}) == len(parts)
    a_sheet = len(sheet_plan(laid).places)
    assert all(len(part.texts) % a_sheet == 0 for part in parts[:-1])
    assert all(len(part.texts) <= max(400 // faces, a_sheet) for part in parts)


def test_the_worst_come_first_and_what_would_help_is_said() -> None:
    shorts = [
        {"code": code, "face": "whole", "side": "height", "missing": missing, "needs": 60.0 + missing}
        for code, missing in (("A", 0.2), ("B", 3.4), ("C", 1.0), ("D", 2.0), ("E", 0.5))
    ]
    message, hint = told_short(shorts, "label", METRIC)
    assert message.endswith("B lacks 4 mm of height; D lacks 2 mm of height; C lacks 1 mm of height; "
                            "E lacks 1 mm of height; and 1 more.")  # fmt: skip
    assert (
        hint
        == "Take a size at least 64 mm high, a front and a back in place of one, or fewer words; nothing is cut off. "
        "On the desk: Your shop, Labels and cards; in shop.toml: size and faces (1 or 2)."
    )
