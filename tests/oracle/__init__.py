"""A second implementation of the formulas, in fractions, which shares no code with listkit/ and is compared with it."""
