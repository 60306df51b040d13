"""Today, the scan box, sign-in and people."""
