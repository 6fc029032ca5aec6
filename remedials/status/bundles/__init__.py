"""What was known, said, delivered and refused by an instant, drawn out of the ledger as one archive; and holds."""
