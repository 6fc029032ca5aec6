"""The planner: what the week's work is for it, its search, a plain rule to compare with, and a checker that shares no
code with the search. Pure: knows no Django, no database, no clock."""
