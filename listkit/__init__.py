"""One folder of plain files becomes every listing, feed, price list and picture of a small gift-set shop."""
