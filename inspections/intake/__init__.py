"""Taking in another firm's report or a board list from a spreadsheet.

Reading and checking are pure: `reading` makes rows of cells from a file's bytes, `heads` finds the columns,
`boards` and `observations` turn the rows into plain values and say what is wrong with the others. Only
`operations` writes.
"""
