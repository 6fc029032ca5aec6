"""What may be typed about remedials."""

from remedials.works.forms.deciding import (
    ApproveForm,
    CancelForm,
    ChaseForm,
    ConfirmForm,
    DeclineForm,
    EndWaitingForm,
    OthersForm,
    PartsForm,
    ReopenForm,
    TakeOnForm,
    WaitForm,
)
from remedials.works.forms.doing import CheckForm, CloseForm, PhotoForm, PowerForm, ReadingForm
from remedials.works.forms.making import EditForm, FilterForm, MakeForm
from remedials.works.forms.reviewing import FoundWrongForm, RecallForm, ReviewForm
from remedials.works.forms.spent import LeaveForm, SpentForm

__all__ = [
    "ApproveForm",
    "CancelForm",
    "ChaseForm",
    "CheckForm",
    "CloseForm",
    "ConfirmForm",
    "DeclineForm",
    "EditForm",
    "EndWaitingForm",
    "FilterForm",
    "FoundWrongForm",
    "LeaveForm",
    "MakeForm",
    "OthersForm",
    "PartsForm",
    "PhotoForm",
    "PowerForm",
    "ReadingForm",
    "RecallForm",
    "ReopenForm",
    "ReviewForm",
    "SpentForm",
    "TakeOnForm",
    "WaitForm",
]
