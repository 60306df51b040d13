"""Suppliers, their certificates, receipts and lot tags; what is really in a lot.

Not what a material is in general: that is materials.
"""
