"""The image under a floor's drawing: handing it in, showing it, taking it away."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns.forms.plan_images import PlanImageForm
from campaigns.links import trail
from campaigns.models import Floor, FloorPlan
from campaigns.services import floor_plans
from campaigns.views.pages import RowPage

TYPES = {"png": "image/png", "jpeg": "image/jpeg", "svg": "image/svg+xml"}
#: The image may be opened by itself: then it may load nothing, run nothing and be nobody.
ALONE = "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'"


class FloorPlanImage(RowPage):
    """The plan image, for those who may see the floor."""

    model = Floor

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse:
        plan = FloorPlan.objects.filter(floor=self.found).exclude(image="").first()
        if plan is None:
            raise Http404
        try:
            stored = plan.image.open("rb")
        except FileNotFoundError as error:  # a database restored without its files
            raise Http404 from error
        answer = FileResponse(stored, content_type=TYPES[plan.image_kind], filename=f"plan.{plan.image_kind}")
        answer.headers["Content-Security-Policy"] = ALONE
        answer.headers["X-Content-Type-Options"] = "nosniff"
        answer.headers["Cache-Control"] = "private, max-age=300"  # asked for again and again while somebody draws
        return answer


class FloorPlanImageAdd(RowPage):
    """Hand in a plan image, in place of the one that is there."""

    model = Floor
    related = ("building__site",)
    act = "change"
    template_name = "campaigns/plan_image.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask(PlanImageForm())

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = PlanImageForm(request.POST, request.FILES)
        image = form.stored(self.found)
        if image is None:
            return self.ask(form, status=422)
        messages.success(request, "The plan image is there. Set its scale before you draw on it.")
        if image.left_out:
            messages.warning(request, f"Left out of the SVG, because it could act or load something: {listed(image)}.")
        return redirect(back_to(self.found))

    def ask(self, form: PlanImageForm, status: int = 200) -> HttpResponse:
        floor = self.found
        plan = FloorPlan.objects.filter(floor=floor).exclude(image="").first()
        return self.show(
            status=status,
            title="Plan image",
            kicker=f"{floor.building}, {floor}",
            crumbs=[*trail(floor), ("Plan", back_to(floor))],
            form=form,
            plan=plan,
            floor=floor,
            submit_label="Take this image",
            cancel_url=back_to(floor),
        )


class FloorPlanImageRemove(RowPage):
    """Take the image away; what was drawn on it stays."""

    model = Floor
    act = "change"
    http_method_names = ["post"]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        floor_plans.drop_image(self.found)
        messages.success(request, "The plan image is gone. Rooms and points stay where they were drawn.")
        return redirect(back_to(self.found))


def back_to(floor: Floor) -> str:
    return reverse("floor-plan", args=[floor.key])


def listed(image: Any) -> str:
    shown = image.left_out[:6]
    more = f" and {len(image.left_out) - 6} more kinds" if len(image.left_out) > 6 else ""
    return ", ".join(shown) + more
