"""What is said beneath a set's ingredients: what all of them hold, and what people ask for, by product.

The words stand in templates/words/<language>.toml, [ingredients]; an empty one leaves its line out. Notes are read
from the lists of ingredients alone. They inform, and are no promise that anything else is free of it.
"""

from collections.abc import Mapping

from listkit.compute.allergens import Allergen
from listkit.compute.ingredients import by_product, origins_of, shared_allergens
from listkit.listing.cautions import told_together
from listkit.listing.nouns import capital
from listkit.listing.words import Words, fill
from listkit.model.item import Item


def ingredient_notes(words: Words, items: tuple[Item, ...], allergens: Mapping[str, Allergen]) -> tuple[str, ...]:
    """Return the notes of a set that may hold `items`: the fragrance allergens all share, then what comes of what."""
    listed = tuple(row.item for row in by_product(items))
    shared = shared_allergens(listed, allergens)
    lines = [fill(words.ingredients.shared, what=words.all_of(shared))] if shared else []
    sentences = dict(words.ingredients.origins)
    for origin in origins_of(listed):
        some = words.all_of(told_together(words, origin.items, listed))
        holders = words.ingredients.all_of_them if len(origin.items) == len(listed) > 1 else some
        lines.append(capital(fill(sentences.get(origin.key, ""), items=holders)))
    return tuple(line for line in lines if line)
