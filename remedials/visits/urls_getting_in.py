"""Addresses of getting in: a site's page, attempts, letters, keys, codes, what must be seen to, working alone."""

from django.urls import path

from remedials.visits.views import attempts, getting_in, keys, letters, seeing_to, times

GETTING_IN = [
    path("sites/<uuid:pk>/getting-in/", getting_in.getting_in, name="getting_in"),
    path("sites/<uuid:pk>/access-times/new/", getting_in.access_time_new, name="access_time_new"),
    path("access-times/<uuid:pk>/remove/", getting_in.access_time_remove, name="access_time_remove"),
    path("sites/<uuid:pk>/closed-days/new/", getting_in.closed_days_new, name="closed_days_new"),
    path("closed-days/<uuid:pk>/remove/", getting_in.closed_days_remove, name="closed_days_remove"),
    path("units/<uuid:pk>/occupier/", getting_in.occupier, name="occupier"),
    path("sites/<uuid:pk>/attempts/new/", attempts.attempt_new, name="attempt_new"),
    path("attempts/<uuid:pk>/reply/", attempts.attempt_reply, name="attempt_reply"),
    path("attempts/<uuid:pk>/photo/", attempts.attempt_photo, name="attempt_photo"),
    path("attempts/<uuid:pk>/letter/", attempts.attempt_letter, name="attempt_letter"),
    path("sites/<uuid:pk>/letters/new/", letters.letter_new, name="letter_new"),
    path("sites/<uuid:pk>/attempts/print/", letters.evidence, name="evidence"),
    path("keys/", keys.keys_out, name="keys_out"),
    path("sites/<uuid:pk>/keys/new/", keys.key_new, name="key_new"),
    path("keys/<uuid:pk>/", keys.key, name="key"),
    path("keys/<uuid:pk>/out/", keys.key_out, name="key_out"),
    path("keys/<uuid:pk>/in/", keys.key_in, name="key_in"),
    path("keys/<uuid:pk>/back/", keys.key_back, name="key_back"),
    path("sites/<uuid:pk>/alarm-codes/new/", keys.code_new, name="code_new"),
    path("alarm-codes/<uuid:pk>/", keys.code, name="code"),
    path("alarm-codes/<uuid:pk>/erase/", keys.code_retire, name="code_retire"),
    path("to-see-to/", seeing_to.to_see_to, name="to_see_to"),
    path("sites/<uuid:pk>/to-see-to/new/", seeing_to.see_to_new, name="see_to_new"),
    path("to-see-to/<uuid:pk>/met/", seeing_to.see_to_met, name="see_to_met"),
    path("to-see-to/<uuid:pk>/drop/", seeing_to.see_to_drop, name="see_to_drop"),
    path("visits/<uuid:pk>/check-in/", seeing_to.check_in, name="check_in"),
    path("visits/<uuid:pk>/check-out/", seeing_to.check_out, name="check_out"),
    path("check-ins/<uuid:pk>/found-safe/", seeing_to.found_safe, name="found_safe"),
    path("sites/<uuid:pk>/times-offers/new/", times.times_offer_new, name="times_offer_new"),
    path("times-offers/<uuid:pk>/", times.times_offer, name="times_offer"),
    path("times-offers/<uuid:pk>/link/", times.times_link, name="times_link"),
    path("times-offers/<uuid:pk>/withdraw/", times.times_withdraw, name="times_withdraw"),
    path("t/<str:token>/", times.chosen, name="times"),
    path("t/<str:token>/choose/", times.choose, name="times_choose"),
    path("t/<str:token>/none/", times.none, name="times_none"),
]
