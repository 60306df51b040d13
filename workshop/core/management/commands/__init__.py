"""Commands of the core room."""
