"""The addresses on the way in and about one's own sign-in; the pages are allauth's, in our templates.

Each has the name by which allauth looks for it. Nothing else of allauth has an address: nobody signs
up by themselves.
"""

from allauth.account import views as account
from allauth.account.decorators import reauthentication_required
from allauth.mfa.base import views as second
from allauth.mfa.recovery_codes import views as codes
from allauth.mfa.totp import views as app
from allauth.mfa.webauthn import views as passkeys
from allauth.usersessions import views as sessions
from django.urls import path, re_path

from collection.permissions import View, signed_in


def confirmed(view: View) -> View:
    """Ask for the password once more before a change: who finds an unlocked screen changes nothing."""
    guarded: View = reauthentication_required(allow_get=True)(view)
    return guarded


own = signed_in  # brings the menu and the site's time zone; which rows are one's own, allauth sees to

SECOND = "me/second-factor/"

urlpatterns = [
    path("sign-in/", account.login, name="sign_in"),
    path("sign-in/", account.login, name="account_login"),
    path("sign-in/closed/", account.account_inactive, name="account_inactive"),
    path("sign-in/code/", second.authenticate, name="mfa_authenticate"),
    path("sign-in/passkey/", passkeys.login_webauthn, name="mfa_login_webauthn"),
    path("sign-in/forgotten/", account.password_reset, name="account_reset_password"),
    path("sign-in/forgotten/sent/", account.password_reset_done, name="account_reset_password_done"),
    re_path(
        r"^sign-in/forgotten/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>.+)/$",
        account.password_reset_from_key,
        name="account_reset_password_from_key",
    ),
    path(
        "sign-in/forgotten/done/",
        account.password_reset_from_key_done,
        name="account_reset_password_from_key_done",
    ),
    path("sign-out/", account.logout, name="sign_out"),
    path("sign-out/", account.logout, name="account_logout"),
    path("me/again/", own(account.reauthenticate), name="account_reauthenticate"),
    path("me/again/code/", own(second.reauthenticate), name="mfa_reauthenticate"),
    path("me/again/passkey/", own(passkeys.reauthenticate_webauthn), name="mfa_reauthenticate_webauthn"),
    path("me/sessions/", own(sessions.list_usersessions), name="usersessions_list"),
    path(SECOND, own(second.index), name="mfa_index"),
    path(f"{SECOND}app/", own(app.activate_totp), name="mfa_activate_totp"),
    path(f"{SECOND}app/off/", own(app.deactivate_totp), name="mfa_deactivate_totp"),
    path(f"{SECOND}codes/", own(codes.view_recovery_codes), name="mfa_view_recovery_codes"),
    path(f"{SECOND}codes/new/", own(codes.generate_recovery_codes), name="mfa_generate_recovery_codes"),
    path(f"{SECOND}codes/file/", own(codes.download_recovery_codes), name="mfa_download_recovery_codes"),
    path(f"{SECOND}passkeys/", own(passkeys.list_webauthn), name="mfa_list_webauthn"),
    path(f"{SECOND}passkeys/new/", own(passkeys.add_webauthn), name="mfa_add_webauthn"),
    path(f"{SECOND}passkeys/<int:pk>/", own(passkeys.edit_webauthn), name="mfa_edit_webauthn"),
    path(f"{SECOND}passkeys/<int:pk>/off/", own(passkeys.remove_webauthn), name="mfa_remove_webauthn"),
]
