"""The week: which batch and which packing run on which day, and why."""
