"""Three dates kept apart: make safe by, remedy by, and the next inspection.

All are calendar dates; nothing is moved off a weekend or a bank holiday. Each comes with one
sentence that says which rule set it, whether that rule is law, and how sure the fact is.
"""

from inspections.standards.deadlines import Deadline
from inspections.standards.inspecting_again import next_inspection
from inspections.standards.remedying import DEFAULT_POLICY, RemedyPolicy, make_safe_by, remedy_by

__all__ = ["DEFAULT_POLICY", "Deadline", "RemedyPolicy", "make_safe_by", "next_inspection", "remedy_by"]
