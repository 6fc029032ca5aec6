"""Everything that the firm owns, out as workbooks for people and as one archive for programs, and back into an empty firm."""
