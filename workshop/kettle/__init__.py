"""Kettles, scales and batches: planned, weighed, corrected, checked, poured, released.

Not the formula itself, and not the tins: packing fills those.
"""
