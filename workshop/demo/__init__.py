"""The invented workshop: its people, its formulas and eighteen months of its work.

It does only what the rooms' services allow, and no room knows of it.
"""
