"""What a label says, how it is laid out, whether it is approved and true, what was printed.

The law of each statement is in rules; this room applies it to a lot.
"""
