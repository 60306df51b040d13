"""An invented workshop and its last eighteen months, acted out through the rooms' services."""
