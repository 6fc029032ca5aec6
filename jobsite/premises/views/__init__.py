"""The pages of premises."""
