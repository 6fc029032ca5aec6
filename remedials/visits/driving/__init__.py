"""How long driving takes, from outside: a table that the firm loads, a routing server that it names."""
