"""Published limits, intervals and clocks: data and pure functions, each with its source.

No Django, no database, no reading of the clock: dates come in as arguments. Where things are:

- `confidence`: how sure a fact is, and the words that a page puts beside an unsure one
- `editions`: editions and amendments of the wiring standard, with their dates
- `assessment`: classification codes, overall assessment, action required
- `counting`: the last day of a period, by the words of the rule
- `places`: nations and tenures
- `premises_kinds`: recommended initial intervals by kind of premises
- `law_rows`, `law`: what the law of each nation asks for rented homes, with the date from which it holds
- `duty_rows`, `duties`: papers due by law, who owes them, and how their days are counted
- `clocks`: make safe by, remedy by (`remedying`), next inspection (`inspecting_again`), told as `deadlines`
- `edition_rules`: the rows that an edition selects
- `registry`: all facts by key
- `facts`: facts as rows with stable keys, and a firm's corrections over them
- `quantities`, `typed`, `situation`, `limits`, `verdicts`: what is read, as it is typed, and how it is judged
- `readings`: the one door to every kind of reading
- `insulation`, `electrodes`: resistances by voltage, RCD and edition
- `trips`, `fuses`: what loop impedance limits are computed or taken from
- `loops`: loop impedance at circuit, board and origin
- `rcd_times`, `continuity`, `rings`, `conductors`, `fault_currents`: the other kinds of reading
- `devices`, `impedance`, `judging`: earth fault loop impedance, its limit and the verdict
- `metering`: two energy meters over the same interval, and which common fault their ratio points to
"""
