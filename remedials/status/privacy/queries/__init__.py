"""What the pages on personal data show."""
