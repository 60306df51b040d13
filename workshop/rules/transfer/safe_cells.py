"""Text in a cell that a spreadsheet program will not run, and that comes back as it was."""

# What makes a spreadsheet program take a cell for a formula: OWASP, "CSV Injection", with the
# full-width forms that it names. The apostrophe is here because it is what marks a safe cell.
RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", "'")
MARK = "'"


def safe(text: str) -> str:
    """The text with an apostrophe before it where its first letter would make a formula of it.

    Spaces before that letter do not help: some programs drop them.

    **Source**: OWASP, "CSV Injection": prepend a single quote, quote the cell, double its quotes;
    the last two are what a CSV writer does.

    >>> safe("=1+2"), safe("'tis"), safe("Shea butter")
    ("'=1+2", "''tis", 'Shea butter')
    """
    return MARK + text if text.lstrip(" ").startswith(RISKY) else text


def original(cell: str) -> str:
    """The text that `safe` made this cell of.

    >>> original(safe("-5 °C")), original("Shea butter")
    ('-5 °C', 'Shea butter')
    """
    return cell.removeprefix(MARK)
