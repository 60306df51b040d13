"""The currencies of ISO 4217 that have a smallest unit."""

from iso4217 import Currency

# Funds, metals and codes for tests have no smallest unit, or are no money that is paid with.
DIGITS = {one.code: one.exponent for one in Currency if one.exponent is not None}
NAMES = {one.code: one.currency_name for one in Currency if one.code in DIGITS}
CHOICES = [(code, f"{code} {NAMES[code]}") for code in sorted(DIGITS)]
