"""What may be typed about remedials."""

from remedials.works.forms.deciding import (
    ApproveForm,
    CancelForm,
    ChaseForm,
    ConfirmForm,
    DeclineForm,
    EndWaitingForm,
    OthersForm,
    PartDoneForm,
    PartsForm,
    ReopenForm,
    TakeOnForm,
    WaitForm,
)
from remedials.works.forms.doing import CheckForm, CloseForm, PhotoForm, ReadingForm
from remedials.works.forms.making import EditForm, FilterForm, MakeForm
from remedials.works.forms.reviewing import FoundWrongForm, ReviewForm

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
    "MakeForm",
    "OthersForm",
    "PartDoneForm",
    "PartsForm",
    "PhotoForm",
    "ReadingForm",
    "ReopenForm",
    "ReviewForm",
    "TakeOnForm",
    "WaitForm",
]
