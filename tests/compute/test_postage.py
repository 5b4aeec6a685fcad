"""Postage by the owner's own rates: the step that takes a parcel, packets, and how far it lies above a step."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.compute.catalog import WeightFacts
from listkit.compute.freight import Postage, cheapest, packet_faults, postage, weight_facts
from listkit.model.packaging import Carton, Rate
from listkit.model.settings import Freight, Packet
from listkit.units.weight import Weight

PACKET = Packet()


def carton(outside: str, weight: str = "100 g") -> Carton:
    return Carton.model_validate({"outside": outside, "weight": weight})


def rate(service: str, up_to: str, price: str, **more: str) -> Rate:
    return Rate.model_validate(
        {"service": service, "zone": "home", "up_to": up_to, "price": price, **more}, context={"currency": "GBP"}
    )


def facts(gift: str, box: Carton) -> WeightFacts:
    return weight_facts(Weight.parse(gift), box, Freight())


LADDER = (rate("Reed Post", "500 g", "3.10"), rate("Reed Post", "1 kg", "3.90"), rate("Reed Post", "2 kg", "4.60"))
SMALL = carton("190 x 150 x 100 mm", "88 g")


def asked(gift: str, box: Carton = SMALL, rates: tuple[Rate, ...] = LADDER) -> tuple[Postage, ...]:
    return postage(facts(gift, box), box, rates, PACKET)


@pytest.mark.parametrize(
    ("gift", "price", "lighter"),
    [("912 g", "3.90", Decimal(500)), ("913 g", "4.60", Decimal(1)), ("1912 g", "4.60", Decimal(1000))],
)
def test_a_step_takes_its_own_weight_and_not_a_gram_more(gift: str, price: str, lighter: Decimal) -> None:
    """By hand, with a carton of 88 g: 1000 g goes up to 1 kg; 1001 g does not, and a gram less would."""
    [one] = asked(gift)
    assert (str(one.price), one.lighter) == (price, Weight(lighter))


def test_the_lowest_step_has_none_below_and_beyond_the_last_nothing_is_said() -> None:
    [one] = asked("12 g", carton("100 x 100 x 50 mm", "88 g"))
    assert (one.lighter, one.saves) == (None, None)
    assert asked("1913 g") == ()


def test_a_large_light_parcel_goes_by_its_volume() -> None:
    """By hand: 300 × 220 × 120 mm is 7920 cm³, 1584 g at 5000; 600 g on the scale."""
    [one] = asked("500 g", carton("300 x 220 x 120 mm"))
    assert (one.counted, str(one.price), one.by_volume) == (Weight(Decimal(1584)), "4.60", True)


def test_a_packet_goes_by_its_own_weight_and_only_within_the_limits() -> None:
    """Regulations to the Universal Postal Convention: 900 mm together, 600 mm longest, 2 kg, ± 2 mm."""
    rates = (rate("Reed Packet", "2 kg", "2.90", packet="yes"),)
    [one] = asked("500 g", carton("300 x 220 x 120 mm"), rates)
    assert (one.counted, one.by_volume) == (Weight(Decimal(600)), False)
    assert asked("500 g", carton("300 x 300 x 300 mm"), rates)
    assert asked("500 g", carton("400 x 300 x 201 mm"), rates), "within what measuring may be off by"
    assert asked("500 g", carton("610 x 100 x 100 mm"), rates) == ()
    assert asked("1900 g", carton("300 x 220 x 120 mm"), rates), "2.000 kg"
    assert asked("1901 g", carton("300 x 220 x 120 mm"), rates) == ()


def test_what_is_over_is_told_and_a_set_without_carton_is_not_judged() -> None:
    box = carton("610 x 100 x 100 mm")
    faults = packet_faults(facts("500 g", box), box, PACKET)
    assert faults is not None
    assert [(one.limit, one.over) for one in faults] == [("longest side", Decimal(10))]
    assert packet_faults(WeightFacts(Weight(Decimal(5)), None, None, None), None, PACKET) is None


def test_a_service_may_begin_above_a_weight() -> None:
    rates = (rate("Heavy", "5 kg", "6.00", over="2 kg"),)
    assert asked("1000 g", rates=rates) == ()
    assert asked("1912 g", rates=rates) == (), "2000 g is not over 2 kg"
    assert asked("1913 g", rates=rates)


def test_the_cheapest_is_found_for_every_zone() -> None:
    rates = (*LADDER, rate("Cheap", "2 kg", "3.50"), rate("Far", "2 kg", "9.00").model_copy(update={"zone": "abroad"}))
    assert [(one.service, one.zone) for one in cheapest(asked("812 g", rates=rates))] == [
        ("Cheap", "home"),
        ("Far", "abroad"),
    ]


@given(grams=st.integers(1, 1900), more=st.integers(1, 500))
def test_a_heavier_parcel_never_costs_less_on_rising_steps(grams: int, more: int) -> None:
    light, heavy = asked(f"{grams} g"), asked(f"{grams + more} g")
    assert light
    assert light[0].price <= (heavy[0].price if heavy else LADDER[-1].price)


@given(grams=st.integers(1, 1900))
def test_so_much_lighter_it_goes_a_step_cheaper_and_a_tenth_less_does_not(grams: int) -> None:
    box = carton("100 x 100 x 50 mm", "12 g")
    [one] = asked(f"{grams} g", box)
    if one.lighter is None or one.saves is None:
        assert one.price == min(rate.price for rate in LADDER), "no step lies below"
        return
    [cheaper] = asked(f"{Decimal(grams) - one.lighter.grams} g", box)
    [same] = asked(f"{Decimal(grams) - one.lighter.grams + 1} g", box)
    assert cheaper.price == one.price - one.saves
    assert same.price == one.price
