"""The skills that remedials ask for, by the names that they are written with."""

from remedials.works.models import Remedial


def skills_asked_for() -> list[str]:
    """The names of skills that some remedial asks for, each once. One statement."""
    rows = Remedial.objects.exclude(skill="").order_by("skill")
    return list(rows.distinct("skill").values_list("skill", flat=True))
