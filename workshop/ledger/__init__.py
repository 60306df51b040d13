"""Items, lots, operations and postings: stock, the tree of lots, statuses, seals and their proof.

Not why something moved: that is told by the room whose operation it is.
"""
