"""What goes out to a person by itself."""

from django import forms

from collection.web.measures import PlainForm


class MailForm(PlainForm):
    """The weekly mail, wanted or not."""

    wanted = forms.BooleanField(label="Send me the week by mail, each Monday morning", required=False)
