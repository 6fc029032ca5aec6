"""What is typed on the pages of inspections: plain forms, read and checked; the operations decide."""

from inspections.forms.acting import (
    AnswerForm,
    CodeForm,
    FindingForm,
    LookAgainForm,
    MakeSafeForm,
    MissedForm,
    NoticeForm,
    PhotoForm,
    ReadingForm,
    ReconnectForm,
    ReviewForm,
    TakeOnForm,
    WithdrawFindingForm,
)
from inspections.forms.entering import (
    CoverForm,
    EditInspectionForm,
    InspectionForm,
    LimitationForm,
    RangForm,
)
from inspections.forms.metering import MetersForm
from inspections.forms.noting import ChangeObservationForm, ObservationForm

__all__ = [
    "AnswerForm",
    "ChangeObservationForm",
    "CodeForm",
    "CoverForm",
    "EditInspectionForm",
    "FindingForm",
    "InspectionForm",
    "LimitationForm",
    "LookAgainForm",
    "MakeSafeForm",
    "MetersForm",
    "MissedForm",
    "NoticeForm",
    "ObservationForm",
    "PhotoForm",
    "RangForm",
    "ReadingForm",
    "ReconnectForm",
    "ReviewForm",
    "TakeOnForm",
    "WithdrawFindingForm",
]
