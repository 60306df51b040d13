"""Stock on the shelf: classes of what is counted how often, and what a count says of the book."""
