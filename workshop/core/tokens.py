"""Tokens that make a second arrival of the same form or reading harmless."""

import secrets


def new_token() -> str:
    return secrets.token_hex(16)
