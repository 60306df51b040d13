"""Organic, proved: balances of mass over a period, and the inspector's pack.

What a material is stands in materials, what a lot came in as in goods_in, what a label may claim
in labels.
"""
