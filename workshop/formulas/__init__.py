"""Formulas and their versions."""
