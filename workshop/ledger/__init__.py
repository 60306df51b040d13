"""Items, lots, operations and postings: the one record of every gram."""
