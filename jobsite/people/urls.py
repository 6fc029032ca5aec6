"""Addresses of people, instruments and the firm."""

from django.urls import path

from jobsite.people.views import firm, instruments, persons, planning, signin, tokens

app_name = "people"
urlpatterns = [
    path("", persons.people, name="people"),
    path("invite/", persons.invite, name="invite"),
    path("firm/", firm.firm, name="firm"),
    path("firm/edit/", firm.firm_edit, name="firm_edit"),
    path("firm/limits/", firm.policy_new, name="policy_new"),
    path("instruments/", instruments.instruments, name="instruments"),
    path("instruments/new/", instruments.instrument_new, name="instrument_new"),
    path("instruments/<uuid:pk>/check/", instruments.instrument_check, name="instrument_check"),
    path("instrument-checks/<uuid:pk>/file/", instruments.check_file, name="check_file"),
    path("instruments/<uuid:pk>/archive/", instruments.instrument_archive, name="instrument_archive"),
    path("competences/<uuid:pk>/end/", persons.competence_end, name="competence_end"),
    path("skills/<uuid:pk>/end/", planning.skill_end, name="skill_end"),
    path("tokens/", tokens.tokens, name="tokens"),
    path("tokens/new/", tokens.token_new, name="token_new"),
    path("tokens/end/", tokens.token_end, name="token_end"),
    path("tokens/<uuid:pk>/end/", tokens.token_end_of, name="token_end_of"),
    path("away/", planning.away, name="away"),
    path("away/<uuid:pk>/withdraw/", planning.leave_withdraw, name="leave_withdraw"),
    path("sign-in/", signin.sign_ins, name="sign_ins"),
    path("sign-in/second-step/", signin.second_step_asked, name="second_step_asked"),
    path("sign-in/everybody-out/", signin.everybody_out, name="everybody_out"),
    path("sessions/", signin.my_sessions, name="my_sessions"),
    path("sessions/<int:pk>/end/", signin.session_end, name="session_end"),
    path("<uuid:pk>/sign-in/", signin.person_sign_in, name="person_sign_in"),
    path("<uuid:pk>/sign-in/end/", signin.sessions_end, name="sessions_end"),
    path("<uuid:pk>/sign-in/tries/", signin.tries_clear, name="tries_clear"),
    path("<uuid:pk>/sign-in/second-step/", signin.second_step_away, name="second_step_away"),
    path("<uuid:pk>/", persons.person, name="person"),
    path("<uuid:pk>/edit/", persons.person_edit, name="person_edit"),
    path("<uuid:pk>/left/", persons.person_left, name="person_left"),
    path("<uuid:pk>/invited/", persons.invited, name="invited"),
    path("<uuid:pk>/invite/", persons.invite_again, name="invite_again"),
    path("<uuid:pk>/competences/new/", persons.competence_new, name="competence_new"),
    path("<uuid:pk>/skills/new/", planning.skill_new, name="skill_new"),
    path("<uuid:pk>/hours/", planning.week_new, name="week_new"),
    path("<uuid:pk>/away/", planning.leave_new, name="leave_new"),
]
