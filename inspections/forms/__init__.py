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
    ReconnectForm,
    ReviewForm,
    TakeOnForm,
    WithdrawFindingForm,
)
from inspections.forms.entering import (
    CoverForm,
    DeleteForm,
    EditInspectionForm,
    InspectionForm,
    LimitationForm,
    RangForm,
    ReissueForm,
)
from inspections.forms.facts import CorrectForm, FactsForm, PutBackForm
from inspections.forms.found import FoundForm
from inspections.forms.metering import MetersForm
from inspections.forms.noting import ChangeObservationForm, LikeForm, ObservationForm
from inspections.forms.papers import BackForm, MailForm, OccupancyForm, PaperForm, RequestForm, SupplyForm
from inspections.forms.readings import ReadingsForm
from inspections.forms.same import GoneForm, PartForm, SameForm, ThereForm

__all__ = [
    "AnswerForm",
    "BackForm",
    "ChangeObservationForm",
    "CodeForm",
    "CorrectForm",
    "CoverForm",
    "DeleteForm",
    "EditInspectionForm",
    "FactsForm",
    "FindingForm",
    "FoundForm",
    "GoneForm",
    "InspectionForm",
    "LikeForm",
    "LimitationForm",
    "LookAgainForm",
    "MailForm",
    "MakeSafeForm",
    "MetersForm",
    "MissedForm",
    "NoticeForm",
    "ObservationForm",
    "OccupancyForm",
    "PaperForm",
    "PartForm",
    "PhotoForm",
    "PutBackForm",
    "RangForm",
    "ReadingsForm",
    "ReconnectForm",
    "ReissueForm",
    "RequestForm",
    "ReviewForm",
    "SameForm",
    "SupplyForm",
    "TakeOnForm",
    "ThereForm",
    "WithdrawFindingForm",
]
