"""What lots, batches and units cost, what the stock is worth, and what a period came to in money.

No accounting and no invoices to customers: figures that an accountant can take over.
"""
