"""Money: shares of an invoice, what a lot cost through any depth of lots, losses, margins."""
