"""The book as one file: a ZIP of documented CSV tables, the files handed in, and its head."""
