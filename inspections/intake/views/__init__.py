"""Pages on which spreadsheets come in."""
