"""The demo shop's output, as read by a person before it was committed."""

import pytest

from listkit.listing.listings import Listings
from listkit.write import WRITERS
from listkit.write.context import WriteContext
from tests.conftest import Golden

FIXED_CONTEXT = WriteContext(version="golden")


@pytest.mark.parametrize("name", WRITERS)
def test_the_demo_shop_still_gives_its_golden_files(name: str, demo: Listings, golden: Golden) -> None:
    golden.check(name, WRITERS[name](demo, FIXED_CONTEXT))
