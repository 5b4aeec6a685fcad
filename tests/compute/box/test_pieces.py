"""Poses and units of pieces."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.box.arrange import Solid, poses
from listkit.compute.box.fit import BoxPiece, Inside, decimals


def test_a_bar_may_lie_stand_on_edge_or_on_end_the_flattest_first() -> None:
    bar = Solid((86, 58, 28), "box", upright=False)
    assert poses(bar, 90) == ((86, 58, 28), (58, 86, 28), (86, 28, 58), (28, 86, 58), (58, 28, 86), (28, 58, 86))


def test_what_is_upright_only_turns_about() -> None:
    assert poses(Solid((60, 40, 90), "box", upright=True), 90) == ((60, 40, 90), (40, 60, 90))
    assert poses(Solid((72, 72, 64), "cylinder", upright=True), 64) == ((72, 72, 64),)


def test_no_pose_is_higher_than_the_room() -> None:
    assert poses(Solid((86, 58, 28), "box", upright=False), 57) == ((86, 58, 28), (58, 86, 28))
    assert poses(Solid((72, 72, 64), "cylinder", upright=True), 63) == ()


def test_only_a_true_circle_counts_as_round() -> None:
    assert Solid((72, 72, 64), "cylinder", upright=True).round_standing
    assert not Solid((72, 70, 64), "cylinder", upright=True).round_standing
    assert not Solid((72, 72, 64), "box", upright=True).round_standing
    assert Solid((50, 50, 50), "ball", upright=False).ball
    assert not Solid((50, 50, 48), "ball", upright=False).round_standing


@given(values=st.lists(st.decimals(0, 1000, places=3), min_size=1))
def test_so_many_decimals_hold_every_value(values: list[Decimal]) -> None:
    digits = decimals(*values)
    assert digits >= 1
    assert all(value.scaleb(digits) == int(value.scaleb(digits)) for value in values)


def test_clearance_is_taken_once_from_each_side() -> None:
    inside = Inside(Decimal(162), Decimal(122), Decimal(70), Decimal(3))
    assert inside.free == (Decimal(159), Decimal(119), Decimal(67))
    assert inside.volume == Decimal(1383480)


def test_a_piece_knows_its_bounding_volume() -> None:
    assert BoxPiece("OH-B01", Decimal(86), Decimal(58), Decimal(28)).volume == Decimal(139664)
