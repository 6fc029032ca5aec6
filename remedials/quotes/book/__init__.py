"""The price book as a spreadsheet: written, read back, compared with what stands."""
