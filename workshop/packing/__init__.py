"""Products and packing runs."""
