"""What pages, documents and the API read of inspections, in a bounded number of SQL statements."""
