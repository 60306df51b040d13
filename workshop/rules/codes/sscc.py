"""Serial shipping container codes: the number of one carton, never given twice."""

import re

from workshop.rules.codes.gs1 import gtin_check_digit
from workshop.rules.errors import RuleError

BODY_DIGITS = 17
# Source: GS1 General Specifications: company prefixes have 4 to 12 digits.
PREFIX = re.compile(r"[0-9]{4,12}")
EXTENSION = "0"


def check_company_prefix(text: str) -> str:
    """Return the GS1 company prefix in `text` without spaces and hyphens.

    Units: 4 to 12 digits. Error: whether GS1 gave it to this workshop cannot be seen from it.
    Source: GS1 General Specifications. Raises: RuleError for anything else.

    >>> check_company_prefix("952 1234")
    '9521234'
    """
    prefix = re.sub(r"[\s\-]", "", text)
    if not PREFIX.fullmatch(prefix):
        raise RuleError(
            "A GS1 company prefix has 4 to 12 digits; it stands on the certificate from GS1."
        )
    return prefix


def sscc(prefix: str, serial: int) -> str:
    """Return the SSCC of the carton numbered `serial` under a company prefix.

    Units: 18 digits: extension 0, prefix, serial, check digit. Error: none.
    Source: GS1 General Specifications, SSCC. Raises: RuleError when no number is left.

    >>> sscc("9521234", 1)
    '095212340000000013'
    """
    places = BODY_DIGITS - len(EXTENSION) - len(check_company_prefix(prefix))
    if not 0 <= serial < 10**places:
        raise RuleError(f"All carton numbers under the GS1 company prefix {prefix} are used.")
    body = f"{EXTENSION}{prefix}{serial:0{places}}"
    return body + gtin_check_digit(body)


def serial_of(prefix: str, code: str) -> int:
    """Return the serial number in an SSCC under this prefix.

    >>> serial_of("9521234", "095212340000000013")
    1
    """
    return int(code[len(EXTENSION) + len(prefix) : -1])


def following(first: str, count: int) -> list[str]:
    """Return `count` SSCCs that follow each other, from `first` on.

    Units: 18 digits each. Error: none. Source: as `sscc`.
    Raises: nothing, for numbers that `sscc` gave.

    >>> following("095212340000000013", 2)
    ['095212340000000013', '095212340000000020']
    """
    bodies = (f"{int(first[:-1]) + step:017}" for step in range(count))
    return [body + gtin_check_digit(body) for body in bodies]
