"""Weighing a trailer from scale tickets, as trailer and camper makers' worksheets have it (read; common practice).

Three passes, bars slack: tongue = (steer + drive, hitched) - (steer + drive, alone) = trailer in all - its axles,
hitched. And a magazine's weigh-in of a station wagon ("Towball leverage explained", What's Up Downunder, buyers'
guide): rear axle 1233 kg alone, 1650 kg hitched, 270 kg on the ball; its rear gained 417 kg, of which 147 kg came off
the front.
Tolerance: half a kilogram, the last printed digit.

Restoration of three front-axle weights: SAE J2807 committee, as quoted in Trailer/Body Builders, October 2009: 100 % is
the weight of the front axle with no trailer.
"""

from planner.plans.weighing import weigh
from planner.records import Slip


def slip(**table):
    return Slip(name="ticket", resolution="1 kg", **table)


def test_both_ways_give_the_ball_load_of_the_magazine(compare):
    """The front axle alone is not printed; whatever it weighs, the wagon gains what the ball carries."""
    alone, hitched = {"front_axle": "1000 kg", "rear_axle": "1233 kg"}, {"front_axle": "853 kg", "rear_axle": "1650 kg"}
    found = weigh(slip(alone=alone, hitched=hitched)).told
    compare("load on the ball, by the axles", 270, found["tongue"].value, "kg", 0.5)
    compare("taken off the front axle", 147, found["lost"].value, "kg", 0.5)


def test_the_magazines_jack_and_rear_axle_agree_with_its_overhang(compare, make_truck):
    """Overhang 0.544 of the wheelbase (147 / 270): then the rear axle alone tells the ball load."""
    truck = make_truck({"wheelbase": "2.9 m"})
    hitch = truck.hitch("receiver").replaced(x=f"{-2.9 * 147 / 270:.4f} m")
    rear = slip(alone={"rear_axle": "1233 kg"}, hitched={"rear_axle": "1650 kg"})
    tongue = weigh(rear, truck, None, hitch).told["tongue"].value
    compare("load on the ball, by the rear axle and the overhang", 270, tongue, "kg", 0.5)
    with_jack = weigh(rear.replaced(trailer_alone={"jack": "270 kg"}), truck, None, hitch)
    assert {way.name for way in with_jack.ways} == {"jack", "axles and levers"}
    assert with_jack.disagreement.value < 0.5


def test_full_restoration_is_the_weight_without_a_trailer(compare):
    ticket = slip(
        alone={"front_axle": "1000 kg"}, hitched={"front_axle": "853 kg"}, hitched_with_bars={"front_axle": "1000 kg"}
    )
    compare("put back in front by bars, whole", 1.0, weigh(ticket).told["restoration"].value, "", 1e-6)
    half = ticket.replaced(hitched_with_bars={"front_axle": "926.5 kg"})
    compare("put back in front by bars, half", 0.5, weigh(half).told["restoration"].value, "", 5e-7)


def test_three_passes_agree_within_the_division(compare):
    ticket = slip(
        alone={"front_axle": "1950 kg", "rear_axle": "1360 kg"},
        hitched={"front_axle": "1823 kg", "rear_axle": "1877 kg", "trailer_axles": "2874 kg"},
        trailer_alone={"gross": "3264 kg"},
    )
    found = weigh(ticket)
    ways = [f"tongue load, by {way.name}" for way in found.ways]
    compare.all(ways, [390, 390], [way.told.value for way in found.ways], "kg", 390e-6)
    compare("the trailer in all", 3264, found.told["gross"].value, "kg", 3264e-6)
