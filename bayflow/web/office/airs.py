"""Sensors of the shop's air: a token made once, shown once, revoked for good."""

from typing import Any

from flask import redirect, url_for

from bayflow.shop import people, sensors
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, text
from bayflow.web.office.pages import form_page, office
from bayflow.web.office.team import ButtonForm


class SensorForm(OfficeForm):
    """A sensor's name and where it stands."""

    label = text("Name of the sensor", "Such as: by the door.", 60, need="Name it.")
    place = text("Place", "As it is typed when a job is opened: its readings go to the open jobs there.", 80,
                 need="Name the place.")  # fmt: skip


@office.route("/sensors", methods=["GET", "POST"])
@desk.needs("lead")
def sensor_list() -> Any:
    """All sensors; a new one with its token, which is shown this once."""
    form, token = SensorForm(), ""
    if form.sent():
        made = form.attempt(
            lambda: sensors.make(desk.shop(), form.label.data, form.place.data, by=desk.me().id, now=desk.now())
        )
        token = made[1] if made else ""
    return form_page("sensors.html", form, sensors=sensors.every(desk.shop()), token=token, origin=desk.origin(),
                     names=people.names(desk.shop()), button=ButtonForm(formdata=None))  # fmt: skip


@office.post("/sensors/<sensor_id>/revoke")
@desk.needs("lead")
def sensor_revoke(sensor_id: str) -> Any:
    """Shut a sensor out from now on."""
    found = sensors.sensor(desk.shop(), sensor_id)
    if ButtonForm().sent():
        sensors.revoke(desk.shop(), found.id, by=desk.me().id, now=desk.now())
    return redirect(url_for("office.sensor_list"))
