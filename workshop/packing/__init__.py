"""Products, packing runs, fill control, finished units on the shelf and samples kept back.

Not what the label says: that is labels.
"""
