"""Customers' orders: by hand, from a file, and what is still open of them."""
