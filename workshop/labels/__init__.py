"""What a label must say, and label sheets."""
