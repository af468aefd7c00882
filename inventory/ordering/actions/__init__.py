"""The only writers of supply: suppliers, orders, receipts, the opening stock list."""
