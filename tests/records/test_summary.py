"""A record in brief says what a list shows of it."""

from datetime import datetime

import pytest

from planner.records import Brief, Cargo, CornerReading, Pressures, Profile, Reading
from planner.store import Store
from planner.store.folder import demo_folder


def test_a_profile_in_brief():
    times = [datetime(2026, 5, 4, 7, 30), datetime(2026, 5, 5, 7, 30)]
    profile = Profile(
        name="Lot",
        truck="flatbed",
        trailer="arch",
        hitch="receiver",
        cargo=(Cargo(name="Saw", weight="9 kg", x="1 m"), Cargo(name="<b>", weight="9 kg", x="1 m")),
        pressures=Pressures(front_left="42 psi", rear_right="3.1 bar"),
        readings=tuple(Reading(at=at, rear_left=CornerReading(pressure="40 psi")) for at in times),
    )
    brief = Brief.of(profile)
    assert (brief.name, brief.truck, brief.trailer, brief.cargo) == ("Lot", "flatbed", "arch", ("Saw", "<b>"))
    assert brief.set_to == ("42 psi", None, None, "3.1 bar")
    assert brief.pressures == profile.pressures
    assert brief.trimmed == times[-1]


def test_what_was_never_saved_or_read_is_not_there():
    brief = Brief.of(Profile(name="Lot", truck="flatbed"))
    assert brief == Brief("Lot", "flatbed")
    assert brief.pressures is brief.trimmed is None


@pytest.mark.parametrize("kind", ["truck", "trailer"])
def test_a_truck_or_trailer_in_brief_is_its_name(kind):
    store = Store(demo_folder())
    slug = getattr(store, f"{kind}s")()[0]
    record = getattr(store, f"read_{kind}")(slug)
    assert Brief.of(record) == Brief(record.name)
