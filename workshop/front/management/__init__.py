"""Commands of the front room."""
