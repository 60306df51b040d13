"""Tarebook, the production and lot book of a small workshop: one room to a folder."""

__version__ = "0.5.0"
