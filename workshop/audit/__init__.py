"""The integrity of the book: its proof, the change log, files and master data held to history.

What a seal covers is said by each room in its `sealed_tables.py`.
"""
