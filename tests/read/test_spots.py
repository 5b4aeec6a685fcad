"""Paths through the models come back as the owner wrote them, with neighbours and an example."""

from pydantic import BaseModel

from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.settings import Settings
from listkit.model.wholesale import Wholesale
from listkit.problem import KeyPath
from listkit.read.faults import field_of, follow, known_keys


def test_tags_of_kinds_of_entry_are_taken_out_of_the_path() -> None:
    assert follow(GiftSet, ("contents", 0, "item", "item")).loc == ("contents", 0, "item")
    assert follow(GiftSet, ("contents", 2, "slot", "slot")).loc == ("contents", 2, "slot")
    assert follow(GiftSet, ("contents", 1, "slot", "choose", 3, "part")).loc == ("contents", 1, "choose", 3, "part")
    assert follow(Settings, ("checks", "a b", "[key]")).loc == ("checks", "a b")


def test_the_keys_of_the_table_around_are_known_by_their_names_in_the_file() -> None:
    assert follow(GiftSet, ("contents", 0, "item", "itm")).keys == ("item", "quantity")
    assert "season" in known_keys(Settings)
    assert "seasons" not in known_keys(Settings)
    assert "key" not in known_keys(Channel)
    assert field_of(Settings, "season") is Settings.model_fields["seasons"]
    assert follow(Wholesale, ("tier", 0, "from")).description == "from this many"


def test_examples_are_written_as_in_the_file() -> None:
    examples: dict[tuple[type[BaseModel], KeyPath], str] = {
        (GiftSet, ("contents",)): "[[contents]]",
        (GiftSet, ("contents", 0, "slot", "choose")): 'choose = ["..."]',
        (GiftSet, ("keywords",)): 'keywords = ["First Nectar"]',
        (GiftSet, ("code",)): 'code = "OH-B01"',
        (GiftSet, ("card",)): "card = true",
        (GiftSet, ("status",)): 'status = "on sale"',
        (GiftSet, ("message_card",)): "[message_card]",
        (GiftSet, ("message_card", "characters")): "characters = 12",
        (Settings, ("currency",)): 'currency = "GBP"',
        (Settings, ("prices", "tax")): 'tax = "20 %"',
        (Settings, ("items", "columns")): 'columns = { ... = "..." }',
        (Settings, ("season", 0, "on_sale")): "on_sale = 2027-02-28",
        (Channel, ("crop", 0, "format")): 'format = "jpeg"',
    }
    assert {spot: follow(*spot).example for spot in examples} == examples


def test_a_path_that_leads_nowhere_has_no_example() -> None:
    spot = follow(GiftSet, ("nothing", 3, "here"))
    assert (spot.loc, spot.example, spot.description) == (("nothing", 3, "here"), "", "")
