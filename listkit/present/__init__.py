"""What is known of a shop, as text for people and as JSON for scripts. Nothing is printed here."""
