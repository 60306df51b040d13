"""What is written here: a whole book brought back."""
