"""What a person at a terminal runs: set-up, serving, the suite, pictures, books kept."""
