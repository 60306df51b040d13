"""What is done so that nothing is taken in as organic that is not: practices, each with its source.

7 CFR 205.201(a)(3), to be met since 19 March 2024, asks for monitoring that prevents organic fraud
and verifies suppliers and the status of what is received, as fits the operation; which practices is
for the operation and its certifier. Those here are the ones that guides for handlers name.
"""

from collections.abc import Container
from dataclasses import dataclass


@dataclass(frozen=True)
class Practice:
    """One practice; `key` is what the book keeps."""

    key: str
    words: str


# Asked about a supplier.
OF_SUPPLIER = (
    Practice("certificate", "Certificate with its product list is at hand"),
    Practice("database", "Operation was looked up in the public database and is certified"),
    Practice("refreshed", "Certificate is requested again at least once a year"),
    Practice("standing", "Statement of good standing was given before the first order"),
    Practice("affidavit", "Supplier has signed that what it sells as organic is organic"),
    Practice("vulnerability", "How fraud could happen here was considered: price, origin, chain"),
    Practice("control_points", "Points to watch are named, those of high risk marked"),
)
# Asked when goods come in.
AT_RECEIPT = (
    Practice("package", "Package says “organic”"),
    Practice("shipping", "Shipping papers belong to the order and the invoice"),
    Practice("papers_say", "Papers say “organic”"),
    Practice("travels", "Certificate came with the goods"),
    Practice("traced", "Papers lead to the last certified operation"),
)


def same_name(on_papers: str, on_certificate: str) -> bool:
    """Say whether two papers name the same operation; only case and spaces may differ.

    Units: none. Error: none; a name that is spelt another way is told to be another one, so that
    somebody looks. Raises: nothing.
    Source: handler plan guide to 7 CFR 205.201(a)(3): supplier name on shipping papers and invoice
        equals the name on the certificate.

    >>> same_name("Hill Apiaries LLC", "hill  apiaries llc")
    True
    >>> same_name("Hill Trading Inc.", "Hill Apiaries LLC")
    False
    """
    return on_papers.casefold().split() == on_certificate.casefold().split()


def not_done(asked: tuple[Practice, ...], done: Container[str]) -> list[str]:
    """Return the words of what was asked and is not ticked.

    >>> not_done(AT_RECEIPT[:2], {"package"})
    ['Shipping papers belong to the order and the invoice']
    """
    return [practice.words for practice in asked if practice.key not in done]
