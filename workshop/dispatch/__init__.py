"""Customers, dispatches and returns."""
