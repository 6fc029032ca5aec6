"""The form that asks for everything."""

from django import forms

from jobsite.forms import CreateForm
from remedials.desk.models import TakeOut


class TakeOutForm(CreateForm):
    """As what it is taken out."""

    kind = forms.ChoiceField(label="As what", choices=TakeOut.Kind.choices, widget=forms.RadioSelect)
