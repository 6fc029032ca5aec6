"""Their addresses."""

from django.urls import path

from remedials.desk.api.works import changing, nouns, proof, recalls, records, remedials

REMEDIALS = [
    path("remedials/", nouns.Remedials.as_view(), name="remedials"),
    path("remedials/make/", remedials.Make.as_view(), name="make"),
    path("remedials/<uuid:pk>/", nouns.OneRemedial.as_view(), name="remedial"),
    path("remedials/<uuid:pk>/approve/", remedials.Approve.as_view(), name="approve"),
    path("remedials/<uuid:pk>/decline/", remedials.Decline.as_view(), name="decline"),
    path("remedials/<uuid:pk>/cancel/", remedials.Cancel.as_view(), name="cancel"),
    path("remedials/<uuid:pk>/take-on/", remedials.TakeOn.as_view(), name="take_on_remedial"),
    path("remedials/<uuid:pk>/photos/", remedials.AddPhoto.as_view(), name="add_photo"),
    path("remedials/<uuid:pk>/close/", remedials.Close.as_view(), name="close"),
    path("remedials/<uuid:pk>/leave/", remedials.Leave.as_view(), name="leave"),
    path("remedials/<uuid:pk>/power/", remedials.Power.as_view(), name="power"),
    path("remedials/<uuid:pk>/review/", remedials.Review.as_view(), name="review_proof"),
    path("remedials/<uuid:pk>/reopen/", remedials.Reopen.as_view(), name="reopen"),
    path("remedials/<uuid:pk>/edit/", changing.Edit.as_view(), name="edit_remedial"),
    path("remedials/<uuid:pk>/parts-ready/", changing.SayParts.as_view(), name="parts_ready"),
    path("remedials/<uuid:pk>/offer-again/", changing.OfferAgain.as_view(), name="offer_again"),
    path("remedials/<uuid:pk>/by-others/", changing.ByOthers.as_view(), name="by_others"),
    path("remedials/<uuid:pk>/wait/", changing.Wait.as_view(), name="wait_remedial"),
]
RECORDS = [
    path("observations/<uuid:pk>/wait/", changing.WaitObservation.as_view(), name="wait_observation"),
    path("waiting/<uuid:pk>/chase/", changing.Chase.as_view(), name="chase"),
    path("waiting/<uuid:pk>/end/", changing.EndWaiting.as_view(), name="end_waiting"),
    path("proof-photos/<uuid:pk>/remove/", changing.RemovePhoto.as_view(), name="remove_photo"),
    path("approvals/", records.Approvals.as_view(), name="approvals"),
    path("approvals/<uuid:pk>/", records.OneApproval.as_view(), name="approval"),
    path("ways-out/", records.WaysOut.as_view(), name="ways_out"),
    path("ways-out/<uuid:pk>/", records.OneWayOut.as_view(), name="way_out"),
    path("waiting/", records.Waitings.as_view(), name="waitings"),
    path("waiting/<uuid:pk>/", records.OneWaiting.as_view(), name="waiting"),
    path("stints/", records.Stints.as_view(), name="stints"),
    path("stints/<uuid:pk>/", records.OneStint.as_view(), name="stint"),
    path("power-steps/", records.PowerSteps.as_view(), name="power_steps"),
    path("power-steps/<uuid:pk>/", records.OnePowerStep.as_view(), name="power_step"),
    path("proofs/", proof.Proofs.as_view(), name="proofs"),
    path("proofs/<uuid:pk>/", proof.OneProof.as_view(), name="proof"),
    path("proofs/<uuid:pk>/certificate/", proof.Certificate.as_view(), name="proof_certificate"),
    path("proof-photos/", proof.ProofPhotos.as_view(), name="proof_photos"),
    path("proof-photos/<uuid:pk>/", proof.OneProofPhoto.as_view(), name="proof_photo"),
    path("proof-photos/<uuid:pk>/file/", proof.ProofPhotoFile.as_view(), name="proof_photo_file"),
    path("recalls/", recalls.Recalls.as_view(), name="recalls"),
    path("recalls/<uuid:pk>/", recalls.OneRecall.as_view(), name="recall"),
    path("recalls/<uuid:pk>/readings/", recalls.DoubtfulReadings.as_view(), name="recall_readings"),
    path("recalls/<uuid:pk>/decide/", recalls.DecideRecall.as_view(), name="decide_recall"),
]
urlpatterns = [*REMEDIALS, *RECORDS]
