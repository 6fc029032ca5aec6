"""What reminders go by: pure functions and tables. No Django here."""
