"""What may be typed about what to bring."""

from jobsite.forms import DayField, PlainForm


class DayForm(PlainForm):
    """Which day it is about."""

    day = DayField(label="Day", required=False)
