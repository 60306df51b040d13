"""The file behind each product: what an authority, a shop and an assessor are handed.

Labels, complaints and lots stay in their rooms; this one only reads them.
"""
