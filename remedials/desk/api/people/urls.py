"""Their addresses."""

from django.urls import URLPattern, path

from remedials.desk.api.people import firm, instruments, nouns, persons


def read(address: str, views: tuple[type, type], many: str, one: str) -> list[URLPattern]:
    """A list and its rows."""
    listed, single = views
    return [
        path(f"{address}/", listed.as_view(), name=many),  # type: ignore[attr-defined]
        path(f"{address}/<uuid:pk>/", single.as_view(), name=one),  # type: ignore[attr-defined]
    ]


urlpatterns = [
    *read("people", nouns.PEOPLE, "people", "person"),
    path("people/invite/", persons.Invite.as_view(), name="invite_person"),
    path("people/<uuid:pk>/invite-again/", persons.InviteAgain.as_view(), name="invite_person_again"),
    path("people/<uuid:pk>/edit/", persons.Edit.as_view(), name="edit_person"),
    path("people/<uuid:pk>/leave/", persons.Leaves.as_view(), name="person_left"),
    path("people/<uuid:pk>/return/", persons.Returns.as_view(), name="person_returned"),
    path("people/<uuid:pk>/record-competence/", persons.RecordCompetence.as_view(), name="record_competence"),
    path("people/<uuid:pk>/record-skill/", persons.RecordSkill.as_view(), name="record_skill"),
    path("people/<uuid:pk>/set-working-week/", persons.SetWeek.as_view(), name="set_working_week"),
    path("people/<uuid:pk>/record-away/", persons.RecordLeave.as_view(), name="record_leave"),
    *read("competences", nouns.COMPETENCES, "competences", "competence"),
    path("competences/<uuid:pk>/end/", persons.EndCompetence.as_view(), name="end_competence"),
    *read("skills", nouns.SKILLS, "skills", "skill"),
    path("skills/<uuid:pk>/end/", persons.EndSkill.as_view(), name="end_skill"),
    *read("working-weeks", nouns.WEEKS, "working_weeks", "working_week"),
    *read("away", nouns.LEAVES, "away", "one_away"),
    path("away/<uuid:pk>/withdraw/", persons.WithdrawLeave.as_view(), name="withdraw_leave"),
    *read("instruments", nouns.INSTRUMENTS, "instruments", "instrument"),
    path("instruments/add/", instruments.Add.as_view(), name="add_instrument"),
    path("instruments/<uuid:pk>/check/", instruments.Check.as_view(), name="check_instrument"),
    path("instruments/<uuid:pk>/find-wrong/", instruments.FindWrong.as_view(), name="find_instrument_wrong"),
    path("instruments/<uuid:pk>/archive/", instruments.Archive.as_view(), name="archive_instrument"),
    *read("instrument-checks", nouns.CHECKS, "instrument_checks", "instrument_check"),
    path("instrument-checks/<uuid:pk>/file/", instruments.CheckFile.as_view(), name="instrument_check_file"),
    path("firm/", firm.TheFirm.as_view(), name="firm"),
    path("firm/describe/", firm.Describe.as_view(), name="describe_firm"),
    *read("policies", (firm.Policies, firm.OnePolicy), "policies", "policy"),
    path("policies/set/", firm.SetPolicy.as_view(), name="set_policy"),
    *read("private-links", (firm.LinkList, firm.OneLink), "private_links", "private_link"),
    path("private-links/<uuid:pk>/withdraw/", firm.WithdrawLink.as_view(), name="withdraw_link"),
    *read("tokens", (firm.TokenList, firm.OneToken), "tokens", "token"),
    path("tokens/<uuid:pk>/end/", firm.EndToken.as_view(), name="end_token"),
]
