"""Price book, quotes, answers, questions."""
