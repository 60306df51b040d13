"""Today, the scan box, sign-in and one's own account: the ways into the other rooms.

It has no table of its own.
"""
