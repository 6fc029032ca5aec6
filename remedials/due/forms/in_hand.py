"""What somebody says who has a step in hand."""

from jobsite.forms import DayField, LineField, PlainForm


class HaveItForm(PlainForm):
    until = DayField(label="Until", help_text="That day included. Nobody is reminded of it before.")
    reason = LineField(label="What you will do, or why it can wait")
