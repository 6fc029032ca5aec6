"""What is due, reminding, messages, leaving."""
