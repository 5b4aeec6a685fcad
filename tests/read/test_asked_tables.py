"""Tables that are printed from: what two columns say of one thing is told, and neither is printed."""

from listkit.read.asked_tables import read_counts, read_parcels, read_wishes

TOLD = ["another column says something else of it."]


def test_two_columns_of_quantities_that_differ_are_told() -> None:
    asked, problems = read_counts("c.csv", b"code,quantity,Pieces\nA,2,5\nB,3,3\nC,4,\nD,,6\n")
    assert [(each.code, each.quantity) for each in asked] == [("B", 3), ("C", 4)]
    assert [(each.place.line, each.message) for each in problems] == [(2, *TOLD), (5, *TOLD)]


def test_two_columns_of_quantities_of_orders_that_differ_are_told() -> None:
    parcels, problems = read_parcels("o.csv", b"order,set,qty,count\n1,A,2,5\n2,B,3,\n")
    assert [(wish.order, number) for wish, number in parcels] == [("2", 3)]
    assert [each.message for each in problems] == TOLD


def test_two_columns_of_words_for_a_card_that_differ_are_told() -> None:
    """A note to the shop, as where to leave a parcel, is no word for a card."""
    wishes, problems = read_wishes("w.csv", b"order,note,gift message\n1,Ring twice,With love\n2,,Yours\n3,Joy,Joy\n")
    assert [(each.order, each.words) for each in wishes] == [("3", "Joy")]
    assert [(each.place.line, each.message) for each in problems] == [(2, *TOLD), (3, *TOLD)]
