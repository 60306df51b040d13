"""Suppliers, certificates, receipts and checks on arrival."""
