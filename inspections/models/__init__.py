"""What was found: inspections, observations and what was decided of them; readings; what was taken in."""

from inspections.models.decisions import DangerNotice, MadeSafe, NotSeenAgain, Review
from inspections.models.facts import FactCorrection
from inspections.models.inspections import Inspection, InspectionDue, Limitation
from inspections.models.intake import Intake
from inspections.models.metering import MeterComparison, MeterFigure
from inspections.models.observations import Observation, ObservationPhoto
from inspections.models.papers import OccupancyChange, Paper, PaperDocument, PaperRequest, PaperSupply
from inspections.models.readings import Reading

__all__ = [
    "DangerNotice",
    "FactCorrection",
    "Inspection",
    "InspectionDue",
    "Intake",
    "Limitation",
    "MadeSafe",
    "MeterComparison",
    "MeterFigure",
    "NotSeenAgain",
    "Observation",
    "ObservationPhoto",
    "OccupancyChange",
    "Paper",
    "PaperDocument",
    "PaperRequest",
    "PaperSupply",
    "Reading",
    "Review",
]
