"""The API, version 1: nouns to read, a POST to a verb's address to change. The same rights, rows and operations as the pages."""
