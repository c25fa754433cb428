"""Logging in and out, passwords, and the front page."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth import views as auth
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm, SetPasswordForm
from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils.http import urlsafe_base64_decode
from django.views import View

from campaigns.access import STAFF, memberships
from campaigns.forms.passwords import LoginForm, OwnPasswordForm
from campaigns.models import Role, User
from campaigns.services import people
from campaigns.services.password_tries import TOO_MANY


class Home(LoginRequiredMixin, View):
    """The front page: each to their own work."""

    def get(self, request: HttpRequest) -> HttpResponse:
        assert isinstance(request.user, User)  # LoginRequiredMixin let it through
        roles = {membership.role for membership in memberships(request.user)}
        if roles & STAFF:
            return redirect("campaigns")
        if Role.CLIENT in roles:
            return redirect("released")
        return render(request, "campaigns/no_role.html", {"title": "No role yet"})


class Login(auth.LoginView):
    redirect_authenticated_user = True
    form_class = LoginForm

    def form_invalid(self, form: AuthenticationForm) -> HttpResponse:
        answer = super().form_invalid(form)
        answer.status_code = 429 if form.has_error("__all__", TOO_MANY) else answer.status_code
        return answer


class Logout(auth.LogoutView):
    """POST only: a link on another page cannot log anybody out."""


class PasswordChange(auth.PasswordChangeView):
    template_name = "campaigns/password.html"
    form_class = OwnPasswordForm
    success_url = reverse_lazy("home")
    extra_context: dict[str, Any] = {"title": "Change your password", "cancel_url": reverse_lazy("home")}

    def get_form_kwargs(self) -> dict[str, Any]:
        return super().get_form_kwargs() | {"host": self.request.META.get("REMOTE_ADDR", "")}

    def form_valid(self, form: PasswordChangeForm) -> HttpResponse:
        messages.success(self.request, "Your password is changed.")
        people.note_of(form.user, people.PASSWORD, "changed")
        return super().form_valid(form)

    def form_invalid(self, form: PasswordChangeForm) -> HttpResponse:
        answer = super().form_invalid(form)
        answer.status_code = 429 if form.has_error("old_password", TOO_MANY) else answer.status_code
        return answer


class PasswordSet(auth.PasswordResetConfirmView):
    """Where the one-time link leads: whoever set a password with it is in, and at their own work."""

    template_name = "campaigns/password_set.html"
    success_url = reverse_lazy("home")
    post_reset_login = True

    def dispatch(self, *args: Any, **kwargs: Any) -> HttpResponseBase:
        answer: HttpResponseBase = super().dispatch(*args, **kwargs)
        if self.user and kwargs["token"] != self.reset_url_token and answer.status_code == 302:
            people.note_of(self.user, people.LINK, "opened")  # by whoever is logged in there, if anybody is
        return answer

    def get_user(self, uidb64: str) -> User | None:
        """By the key of the account: its number says how many there are."""
        try:
            key = UUID(bytes=urlsafe_base64_decode(uidb64))
        except ValueError:
            return None
        return User.objects.filter(key=key).first()

    def form_valid(self, form: SetPasswordForm[User]) -> HttpResponse:
        people.note_of(form.user, people.PASSWORD, "set with a link")
        messages.success(self.request, "Your password is set. From now on, log in with it.")
        return super().form_valid(form)
