"""Records and reports set line by line, with letters that were laid out once.

A page of tables laid out by the rules of CSS takes some six times as long as its bare lines. Most
papers need no more than headings, paragraphs, lists, facts and tables, which are set here; the few
that hold something else are laid out by those rules after all (core/paper/pdf.py).
"""


class CannotSet(Exception):  # noqa: N818  nobody's fault: the paper takes the long way
    """This paper needs the whole of CSS."""
