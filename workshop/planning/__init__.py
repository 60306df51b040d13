"""Buying and the week: demand, open orders, what to make on which day, what to order by when.

It proposes; nothing moves in the ledger until somebody weighs, packs or receives.
"""
