"""Figures for managers: how old what is open is, how long it takes to remedy, what was in time, and what is to come.

`rules/` are pure; `queries/` make each figure in a bounded number of statements, counted by the database; `drawing.py` draws.

How each kind of item is counted, the same in every figure (the pages say it in `says`):

- An item is a defect with its history. An observation that was **continued** by a later one is no item of its own: the last
  record counts, from the day of the first. A draft counts nowhere.
- **Recoded**: an item stands under the code in force today, whatever it was before. **Needs no code**, **withdrawn**: there
  was no defect, so it counts nowhere.
- **Remedied** is our own work, on the day of the work. An **FI** ends in a **finding**; what was found is another item, whose
  own clock begins on the day of the finding.
- **Done by others**, **not there any more**, **the site archived** while it was open: ends that are no remedy of ours.
- **Declined**: it is still open and still counted as that where age is shown. Where time is counted it leaves the count on
  the day of the no. One that was declined and then offered again counts as if nobody had said no.
- **Cancelled** work changes nothing: its item is open, and somebody owes it a next step.
"""
