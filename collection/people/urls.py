"""Addresses of people and signing in."""

from django.urls import path

from collection.people.views import invitations, operators, people, privacy, signing_in

urlpatterns = [
    path("people/", people.people, name="people"),
    path("people/members/new/", invitations.member_new, name="member_new"),
    path("people/invitations/<int:pk>/end/", invitations.invitation_end, name="invitation_end"),
    path("invitation/<str:secret>/", invitations.invitation, name="invitation"),
    path("people/members/<int:pk>/", people.member_edit, name="member_edit"),
    path("people/owners/new/", people.owner_new, name="owner_new"),
    path("people/owners/<int:pk>/", people.owner_edit, name="owner_edit"),
    path("people/members/<int:pk>/data/", privacy.member_data, name="member_data"),
    path("people/owners/<int:pk>/data/", privacy.owner_data, name="owner_data"),
    path("people/owners/<int:pk>/forget/", privacy.owner_forget, name="owner_forget"),
    path("operators/", operators.operators, name="operators"),
    path("operators/organisations/", operators.organisations, name="organisations"),
    path("operators/sign-ins/", operators.sign_ins, name="sign_ins"),
    path("operators/sign-ins/<int:pk>/", operators.sign_in_edit, name="sign_in_edit"),
    path("operators/sign-ins/<int:pk>/forget/", privacy.person_forget, name="person_forget"),
    path("me/", people.me, name="me"),
    path("me/data/", privacy.my_data, name="my_data"),
    *signing_in.urlpatterns,
]
