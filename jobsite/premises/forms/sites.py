"""What may be typed about customers, sites, units, who answers for them, and supplies."""

from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Q

from jobsite.forms import CreateForm, DayField, NumberField, PlainForm
from jobsite.ids import new_id
from jobsite.premises import choices
from jobsite.premises.forms.fields import EditForm, HousePhases, choice, decimal, phases, text, whole
from jobsite.premises.models import Party, Site


class PartyFields(PlainForm):
    name = text("Name", needed=True)
    organisation = forms.BooleanField(label="This is an organisation, not a person", required=False)
    phone = text("Telephone")
    email = forms.EmailField(label="E-mail", required=False, max_length=254)
    address = text("Address", area=True)


class NewPartyForm(PartyFields, CreateForm):
    pass


class EditPartyForm(PartyFields, EditForm):
    pass


def granted_on() -> DayField:
    """A field for the day on which the present tenancy was granted."""
    help_text = "Only where it is let. Some rules bind new tenancies earlier than old ones."
    return DayField(label="Present tenancy granted on", required=False, help_text=help_text)


def degrees(label: str, most: int, help_text: str) -> NumberField:
    """A latitude or longitude in degrees, exact to about a metre."""
    least, largest = Decimal(-most), Decimal(most)
    return NumberField(
        label=label, required=False, unit="°", max_digits=8, decimal_places=5, min_value=least, max_value=largest,
        help_text=help_text,
    )  # fmt: skip


class SiteFields(PlainForm):
    name = text("Name of the site", needed=True, help_text="As the firm speaks of it.")
    address = text("Address", needed=True, area=True)
    postcode = text("Post code")
    nation = choice("Nation", choices.Nation.choices, needed=True, help_text="The law on inspections differs.")
    access_notes = text("Access", area=True, help_text="Keys, parking, dogs, who opens. Never shown to customers.")
    latitude = degrees("Latitude", 90, "Such as 51.47788. Planning and the engineers' maps go by it.")
    longitude = degrees("Longitude", 180, "Such as \N{MINUS SIGN}0.00147: minus is west.")

    def clean(self) -> dict[str, Any]:
        """A place on the map is both, or neither."""
        facts: dict[str, Any] = super().clean() or {}
        if {"latitude", "longitude"} <= facts.keys() and (facts["latitude"] is None) != (facts["longitude"] is None):
            missing = "latitude" if facts["latitude"] is None else "longitude"
            self.add_error(missing, "A place on the map is both: latitude and longitude.")
        return facts


class WholeSiteFields(PlainForm):
    """What a plain site has as its own: it stands for its one unit and its one supply."""

    kind = choice("Kind of premises", choices.PremisesKind.choices, needed=True)
    tenure = choice("Lived in or let", choices.Tenure.choices, needed=True)
    tenancy_granted_on = granted_on()
    phases = HousePhases()
    earthing = choice("Earthing arrangement", choices.Earthing.choices, needed=True)
    main_fuse_a = whole("Main fuse", "A", least=1, most=5000)

    OF_UNIT = ("kind", "tenure", "tenancy_granted_on")
    OF_SUPPLY = ("phases", "earthing", "main_fuse_a")


def customers() -> forms.ModelChoiceField:
    """A field of one of the customers on the list."""
    return forms.ModelChoiceField(Party.objects.none(), label="Customer", empty_label="choose")


class NewSiteForm(WholeSiteFields, SiteFields, CreateForm):
    """A site with its customer: one on the list, or a new one."""

    customer = customers()
    customer_id = forms.UUIDField(widget=forms.HiddenInput, initial=new_id)
    customer_name = text("Or a new customer: name")
    customer_phone = text("New customer's telephone")
    customer_email = forms.EmailField(label="New customer's e-mail", required=False, max_length=254)

    field_order = (
        "name",
        "address",
        "postcode",
        "nation",
        "customer",
        "customer_name",
        "customer_phone",
        "customer_email",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["customer"]
        field.queryset = Party.objects.current().order_by("sort", "pk")
        field.required = False
        self.fields["earthing"].initial = choices.Earthing.UNKNOWN

    def clean(self) -> dict[str, Any]:
        """Exactly one of the customer on the list and the new one."""
        cleaned = super().clean() or self.cleaned_data
        chosen, typed = cleaned.get("customer"), cleaned.get("customer_name")
        if "customer" not in self.errors and not chosen and not typed:
            self.add_error("customer", "Choose the customer, or enter the name of a new one.")
        if chosen and typed:
            self.add_error("customer_name", "Either choose a customer on the list or enter a new one, not both.")
        return cleaned

    def new_customer(self) -> dict[str, str]:
        """Takes the new customer's particulars out of what was typed."""
        return {name: self.cleaned_data.pop(f"customer_{name}") for name in ("name", "phone", "email")}


class EditSiteForm(SiteFields, EditForm):
    customer = customers()

    field_order = ("name", "address", "postcode", "nation", "customer")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["customer"]
        mine = getattr(self.initial.get("customer"), "pk", None)  # offered even where archived meanwhile
        field.queryset = Party.objects.filter(Q(archived_at__isnull=True) | Q(pk=mine)).order_by("sort", "pk")


class EditPlainSiteForm(WholeSiteFields, EditSiteForm):
    """A plain site: what is its one unit's and its one supply's is shown as its own."""

    unit_version = forms.IntegerField(widget=forms.HiddenInput)
    supply_version = forms.IntegerField(widget=forms.HiddenInput)

    def values_of(self, row: Any) -> dict[str, Any]:
        """The three rows' values together, read again: any of them may be the one that was changed."""
        site = row if isinstance(row, Site) else row.site
        return plain_values(Site.objects.get(pk=site.pk))

    def meet(self, theirs: object) -> None:
        """Also the versions of the unit and the supply are taken over."""
        super().meet(theirs)
        values = self.values_of(theirs)
        data: Any = self.data
        for name in ("unit_version", "supply_version"):
            data[self.add_prefix(name)] = str(values[name])


def plain_values(site: Site) -> dict[str, Any]:
    """The values of the form of a plain site. Three statements."""
    unit, supply = site.units.get(whole_site=True), site.supplies.current().get()
    values = {name: getattr(site, name) for name in ("customer", "version", *SiteFields.base_fields)}
    values |= {name: getattr(unit, name) for name in WholeSiteFields.OF_UNIT}
    values |= {name: getattr(supply, name) for name in WholeSiteFields.OF_SUPPLY}
    return values | {"unit_version": unit.version, "supply_version": supply.version}


class UnitFields(PlainForm):
    name = text("Name", needed=True, help_text="Flat 2, common parts, kitchen, barn.")
    kind = choice("Kind of premises", choices.PremisesKind.choices, needed=True)
    tenure = choice("Lived in or let", choices.Tenure.choices, needed=True)
    tenancy_granted_on = granted_on()
    common_parts = forms.BooleanField(label="These are the common parts", required=False)


class NewUnitForm(UnitFields, CreateForm):
    pass


class EditUnitForm(UnitFields, EditForm):
    pass


class RoleForm(CreateForm):
    party = forms.ModelChoiceField(Party.objects.none(), label="Who", empty_label="choose")
    role = choice("What they are here", choices.RoleAtUnit.choices, needed=True)
    since = DayField(label="Since")
    limit_pounds = NumberField(
        label="May approve urgent work up to",
        unit="£",
        max_digits=10,
        decimal_places=2,
        required=False,
        min_value=0,
        help_text="Only for a party that approves work. Leave it empty where there is no standing limit.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["party"]
        field.queryset = Party.objects.current().order_by("sort", "pk")
        self.fields["limit_pounds"].decimal_places = 2  # type: ignore[attr-defined]


class EndRoleForm(PlainForm):
    until = DayField(label="Last day")


class SupplyFields(PlainForm):
    name = text("Name", needed=True)
    phases = phases()
    voltage = whole("Nominal voltage to earth", "V", least=1, most=1000, needed=True)
    main_fuse_a = whole("Main fuse", "A", least=1, most=5000)
    earthing = choice("Earthing arrangement", choices.Earthing.choices, needed=True)
    ze_ohm = decimal("Ze", "Ω", digits=7, places=3)
    fault_current_ka = decimal("Prospective fault current", "kA", digits=6, places=2)
    isolator = text(
        "The customer's own isolator at the intake",
        help_text="Between the meter and the boards, where there is one. The main fuse is the network operator's.",
    )
    isolator_kind = choice(
        "What that isolator disconnects",
        choices.SwitchKind.choices,
        help_text="Without one, nothing of the customer's isolates before the first board.",
    )


class NewSupplyForm(SupplyFields, CreateForm):
    pass


class EditSupplyForm(SupplyFields, EditForm):
    pass
