"""What a file needs that carries the book: safe cells, and how long backups are kept."""
