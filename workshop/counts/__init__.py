"""Where lots are, and whether they are there: places, moves, rounds of counting, accuracy.

Not the movement by which a count sets the book right: the ledger has that.
"""
