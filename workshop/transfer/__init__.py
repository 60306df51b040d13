"""The ways into and out of the whole book: export, backups, restoring, and spreadsheets.

What one record looks like as a file is made in its own room: traces in `trace`, papers in theirs.
"""
