"""What the ledger of a site tells, in plain words: for the office's pages and for whoever is handed it."""
