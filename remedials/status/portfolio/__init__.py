"""All of a customer's units together: one line each, the most dangerous first, and what a board or governors are told."""
