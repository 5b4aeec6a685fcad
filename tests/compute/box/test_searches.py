"""What one command may spend on boxes: every question once, what cannot be at no cost, and an end."""

from dataclasses import replace
from itertools import permutations

from listkit.compute.box.arrange import Solid
from listkit.compute.box.searches import MOST_LOOKS, Searches


def solid(length: int, width: int, height: int) -> Solid:
    return Solid((length, width, height), "box", upright=True)


THIRTEEN = tuple(solid(400 + 23 * n, 350 + 17 * n, 200) for n in range(13))
FLOOR = sum(each.sides[0] * each.sides[1] for each in THIRTEEN)
TIGHT = (2000, FLOOR // 1940, 200)  # three hundredths of the floor are left: nobody can try every way


def test_the_same_pieces_in_any_order_are_one_question() -> None:
    searches, pieces = Searches(), (solid(9, 5, 2), solid(8, 4, 2), solid(7, 6, 3))
    spent = []
    for ordered in permutations(pieces):
        searches.decide(ordered, (13, 11, 4), stacked=False)
        searches.decide(tuple(replace(each, dearest=True) for each in ordered), (13, 11, 4), stacked=False)
        spent.append(searches.left)
    assert len(set(spent)) == 1
    assert spent[0] < MOST_LOOKS


def test_a_box_with_too_little_room_is_not_searched() -> None:
    searches = Searches()
    assert searches.decide(THIRTEEN, (2000, FLOOR // 2010, 200), stacked=False).proof == "none as boxes"
    assert searches.decide(THIRTEEN, (2000, 2000, 199), stacked=True).proof == "none as boxes"
    jars = (Solid((600, 600, 500), "cylinder", upright=True),) * 9
    assert searches.decide(jars, (1590, 1590, 500), stacked=False).proof == "none as boxes"
    assert searches.left == MOST_LOOKS


def test_questions_without_end_end_with_the_command_and_say_what_was_tried() -> None:
    searches, answers = Searches(left=500_000), []
    for number in range(40):
        pieces = (solid(401 + number, 351, 200), *THIRTEEN[1:])
        answers.append(searches.decide(pieces, TIGHT, stacked=False))
    assert searches.left == 0
    assert [answer.way for answer in answers] == ["no"] * 40
    assert {answer.proof for answer in answers} == {"not found", "not decided"}
    assert answers[0].proof == "not found"
    assert answers[-1].proof == "not decided"
    assert answers[0].tried == ("side by side",)
    assert answers[-1].tried == ()


def test_what_is_spent_already_leaves_what_was_answered() -> None:
    searches = Searches()
    easy = (solid(9, 5, 2), solid(8, 4, 2))
    assert searches.decide(easy, (20, 20, 4), stacked=False).way == "side by side"
    searches.left = 0
    assert searches.decide(easy, (20, 20, 4), stacked=False).way == "side by side"
    assert searches.decide(easy, (20, 21, 4), stacked=False).proof == "not decided"
    assert searches.decide(easy, (3, 3, 4), stacked=False).proof == "none as boxes"


def test_the_same_shop_gets_the_same_answers() -> None:
    first, again = Searches(left=300_000), Searches(left=300_000)
    for number in range(8):
        pieces = (solid(401 + number, 351, 200), *THIRTEEN[1:])
        assert first.decide(pieces, TIGHT, stacked=True) == again.decide(pieces, TIGHT, stacked=True)
    assert first.left == again.left


def test_progress_is_what_was_spent_of_what_may_be() -> None:
    calls: list[tuple[int, int]] = []
    searches = Searches(left=1000, progress=lambda done, total: calls.append((done, total)))
    searches.allow(1)
    searches.decide((solid(9, 5, 2), solid(8, 4, 2)), (20, 20, 4), stacked=False)
    assert calls == [(searches.total - searches.left, searches.total)]
    assert 0 < calls[0][0] < calls[0][1] == 21_000
