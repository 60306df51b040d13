"""Organic: what the rest of a product may be, balances of mass, what is asked of suppliers."""
