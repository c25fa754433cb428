"""Logging in and out, passwords, and the front page."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth import views as auth
from django.contrib.auth.forms import PasswordChangeForm, SetPasswordForm
from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.views import View

from campaigns.access import STAFF, memberships
from campaigns.models import Role, User


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


class Logout(auth.LogoutView):
    """POST only: a link on another page cannot log anybody out."""


class PasswordChange(auth.PasswordChangeView):
    template_name = "campaigns/password.html"
    success_url = reverse_lazy("home")
    extra_context: dict[str, Any] = {"title": "Change your password", "cancel_url": reverse_lazy("home")}

    def form_valid(self, form: PasswordChangeForm) -> HttpResponse:
        messages.success(self.request, "Your password is changed.")
        return super().form_valid(form)


class PasswordSet(auth.PasswordResetConfirmView):
    """Where the one-time link leads: whoever set a password with it is in, and at their own work."""

    template_name = "campaigns/password_set.html"
    success_url = reverse_lazy("home")
    post_reset_login = True

    def form_valid(self, form: SetPasswordForm[User]) -> HttpResponse:
        messages.success(self.request, "Your password is set. From now on, log in with it.")
        return super().form_valid(form)
