"""The inspector's pack: one paper with an index by rule number, spreadsheets, files."""
