"""Proof of the book and history of the master data."""
