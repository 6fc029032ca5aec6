"""The two sheets of a price book and their columns."""

JOBS, ITEMS = "Jobs", "Items"

JOB_HEADS = {
    "name": "Name",
    "plain": "Plain words for the customer",
    "minutes": "Minutes",
    "crew": "People",
    "skill": "Skill",
    "retests": "Retests",
    "certificate_kind": "Certificate",
    "treatment": "VAT",
    "retired": "Retired",
}
ITEM_HEADS = {
    "job": "Job",
    "kind": "Kind",
    "what": "What",
    "quantity": "Quantity",
    "unit": "Unit",
    "cost_each": "Cost each, pounds",
    "markup_percent": "Mark-up, percent",
    "supplier": "Supplier",
    "reference": "Reference",
}
NEEDED = {JOBS: ("name", "plain"), ITEMS: ("job", "what", "quantity", "cost_each")}
HEADS = {JOBS: JOB_HEADS, ITEMS: ITEM_HEADS}
