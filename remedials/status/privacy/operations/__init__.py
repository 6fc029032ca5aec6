"""What sets, sheds, hands over and erases personal data."""
