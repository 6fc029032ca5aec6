"""What is chosen for a document of a board."""

from django import forms

from jobsite.forms import CreateForm

PAPERS = [("a4", "A4"), ("a5", "A5, half of it")]
TURNS = [("", "as fits"), ("landscape", "landscape"), ("portrait", "portrait")]


class ChartForm(CreateForm):
    """The paper of a circuit chart."""

    paper = forms.ChoiceField(label="Paper", choices=PAPERS, widget=forms.RadioSelect, initial="a4")
    turned = forms.ChoiceField(label="Turned", choices=TURNS, widget=forms.RadioSelect, required=False, initial="")

    def clean_turned(self) -> bool | None:
        """Landscape or not; None: as fits."""
        return {"landscape": True, "portrait": False}.get(self.cleaned_data["turned"])
