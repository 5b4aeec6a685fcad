"""The shop in a browser, for its owner alone: one module a room, over the functions that commands call too."""
