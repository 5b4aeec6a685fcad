"""Reading whole folders: every file is tried, all problems show at once, a Shop always comes back."""

from pathlib import Path

from listkit.read.photo_memory import PhotoMemory
from listkit.read.shop import read_shop

DEMO = Path(__file__).resolve().parents[2] / "demo_shop"


def test_the_demo_shop_is_read_without_a_problem_and_its_photos_are_remembered() -> None:
    memory = PhotoMemory()
    shop, problems = read_shop(DEMO, photo_facts=memory)
    assert problems == []
    assert memory.measured == sum(len(folder.photos) for folder in shop.sets)
    again = PhotoMemory(memory.photos)
    assert read_shop(DEMO, photo_facts=again) == (shop, [])
    assert again.measured == 0
