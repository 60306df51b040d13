"""How long the book's own acts take beside bare SQL, on both databases: `make bench`."""
