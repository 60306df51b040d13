"""Customers, dispatches, deliveries confirmed, and returns.

Not complaints and recalls: those are aftersales.
"""
