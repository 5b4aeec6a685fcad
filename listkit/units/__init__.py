"""Value types for amounts: exact decimals with their unit, standard library only."""
