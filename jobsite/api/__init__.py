"""What every part of the API shares."""
