"""What is done from the pages that show everything together."""
