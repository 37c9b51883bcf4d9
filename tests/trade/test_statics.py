"""The rubbing side that the rule base gives must be the side that forces on a belt give.

The reference here knows nothing of causes. A machine is a rigid body on track units; each unit lays its ground run
along its own heading; ground resists with dry friction against the sliding of every piece of belt; the body settles
sideways until the forces balance. Whatever way the ground pushes a belt, the belt moves that way inside its wheels
until the lug face that looks there leans on a wheel half: that face, and that wheel half, rub.

source: Coulomb friction and the equilibrium of a rigid body, any textbook of engineering mechanics; the push of the
ground on a sliding contact is solved with scipy. Body dimensions are invented; no direction below depends on them
(hypothesis draws others).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from trade_cases import DRIVE, RULEBASE, units

from lugwright.belief.ground import ground_network
from lugwright.places import AXLES, Place, axle_of, side_of, unit_hand
from lugwright.readings.slope_load import on_side_slope

LAYOUTS = ("two-track", "four-track")
WEIGHT, GRIP = 200.0, 0.6  # kN and friction number


@dataclass(frozen=True)
class Body:
    """x forward, y to the left, metres; forces in kN. toe: radians that a unit's nose points inboard."""

    layout: str
    run: float = 2.4
    gauge: float = 2.2
    wheelbase: float = 3.5
    toe: Mapping[str, float] = field(default_factory=dict)

    def middle(self, unit: str) -> tuple[float, float]:
        ahead = {"front": 0.5, "rear": -0.5}.get(unit.partition("-")[0], 0.0) * self.wheelbase
        return ahead, (0.5 if unit_hand(unit) == "left" else -0.5) * self.gauge

    def pushes(self, unit: str, forward: float, sideways: float, turning: float) -> np.ndarray:
        """Sideways push of the ground on the belt along the ground run, rear first; positive to the left."""
        nose = self.toe.get(unit, 0.0) * (-1 if unit_hand(unit) == "left" else 1)
        heading = np.array([math.cos(nose), math.sin(nose)])
        x0, y0 = self.middle(unit)
        along = np.linspace(-self.run / 2, self.run / 2, 41)
        x, y = x0 + along * heading[0], y0 + along * heading[1]
        frame = np.stack([forward - turning * y, sideways + turning * x])
        belt = heading @ np.array([forward - turning * y0, sideways + turning * x0])
        sliding = frame - belt * heading[:, None]
        load = WEIGHT / len(units(self.layout)) / len(along)
        return -GRIP * load * sliding[1] / np.hypot(np.hypot(*sliding), 0.02 * max(abs(forward), 0.1))

    def settled(self, *, forward: float = 1.0, turning: float = 0.0, side_force: float = 0.0) -> dict[str, np.ndarray]:
        """The pushes on each belt once all of them balance a side force on the body (positive to the left)."""

        def left_over(sideways: float) -> float:
            every = [self.pushes(unit, forward, sideways, turning).sum() for unit in units(self.layout)]
            return float(sum(every) + side_force)

        sideways = brentq(left_over, -50.0, 50.0, xtol=1e-12)
        return {unit: self.pushes(unit, forward, sideways, turning) for unit in units(self.layout)}


def hand_pushed(push: float) -> str:
    return "left" if push > 0 else "right"


def rubbed(pushes: Mapping[str, np.ndarray]) -> dict[str, str]:
    """The face of each unit's lugs that leans on a wheel: the one that looks where the ground pushes the belt."""
    return {unit: side_of(unit, hand_pushed(float(push.sum()))) for unit, push in pushes.items()}


def modelled(
    layout: str, cause: str, place: Place, sign: str, context: Mapping[str, object] | None = None
) -> dict[str, set[str]]:
    """The sides of each unit on which the rule base lets this cause show the sign more than anywhere else."""
    ground = ground_network(RULEBASE, layout, DRIVE[layout], context=context)
    row = ground.cause_index[cause, place]
    found: dict[str, set[str]] = {}
    for unit in units(layout):
        link = {
            side: ground.shows[row, :, ground.sign_index[sign, Place(unit=unit, side=side)]].max()
            for side in ("inboard", "outboard")
        }
        found[unit] = {side for side, value in link.items() if value > 0 and value == max(link.values())}
    return found


def only(sides: Mapping[str, str]) -> dict[str, set[str]]:
    return {unit: {side} for unit, side in sides.items()}


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("uphill", ["left", "right"])
@pytest.mark.parametrize("sign", ["lug-face-scuff", "lug-width-loss", "idler-flank-polish", "drive-wheel-flank-polish"])
def test_a_slope_rubs_the_faces_that_look_uphill(layout: str, uphill: str, sign: str) -> None:
    downhill = WEIGHT * math.sin(math.radians(10)) * (1 if uphill == "right" else -1)
    statics = rubbed(Body(layout).settled(side_force=downhill))
    assert modelled(layout, "side-hill-one-side", Place(hand=uphill), sign) == only(statics)


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("verge", ["left", "right"])
@pytest.mark.parametrize("sign", ["lug-face-scuff", "lug-width-loss", "idler-flank-polish", "drive-wheel-flank-polish"])
def test_a_crossfall_rubs_the_faces_away_from_the_verge(layout: str, verge: str, sign: str) -> None:
    down = WEIGHT * 0.025 * (1 if verge == "left" else -1)  # a crossfall of 2.5 %, common practice for paved roads
    statics = rubbed(Body(layout).settled(side_force=down))
    assert modelled(layout, "road-crossfall", Place(hand=verge), sign) == only(statics)


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("dragged", ["left", "right"])
def test_a_side_pull_rubs_the_faces_away_from_it(layout: str, dragged: str) -> None:
    statics = rubbed(Body(layout).settled(side_force=8.0 if dragged == "left" else -8.0))
    found = modelled(layout, "implement-side-draft", Place(hand=dragged), "lug-face-scuff")
    assert found == only(statics)


@pytest.mark.parametrize("cause", ["side-hill-one-side", "road-crossfall"])
@pytest.mark.parametrize("hand", ["left", "right"])
def test_the_downhill_units_and_halves_carry_more(cause: str, hand: str) -> None:
    # the low hand carries more, by the balance of moments on a slope
    loads = on_side_slope(WEIGHT, 6.0, 1.1, 2.2)
    assert loads.downhill > loads.uphill
    low = hand if cause == "road-crossfall" else {"left": "right", "right": "left"}[hand]
    for layout in LAYOUTS:
        ground = ground_network(RULEBASE, layout, DRIVE[layout])
        row = ground.cause_index[cause, Place(hand=hand)]
        for unit in units(layout):
            more = ground.shows[row, :, ground.sign_index["more-worn-than-partner", Place(unit=unit)]].max() > 0
            assert more == (unit_hand(unit) == low)
        for sign in ("tread-half-wear", "roller-one-row-wear", "roller-row-hot"):
            halves = modelled(layout, cause, Place(hand=hand), sign)
            assert halves == {unit: {side_of(unit, low)} for unit in units(layout)}


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize(
    ("cause", "inward"), [("toe-in-error", 1), ("toe-out-error", -1)], ids=["toe-in-error", "toe-out-error"]
)
@pytest.mark.parametrize(("travel", "forward"), [("mostly-forward", 1.0), ("mostly-reverse", -1.0)])
@pytest.mark.parametrize("sign", ["lug-face-scuff", "lug-width-loss", "idler-flank-polish", "drive-wheel-flank-polish"])
def test_toe_rubs_the_faces_the_ground_pushes(
    layout: str, cause: str, inward: int, travel: str, forward: float, sign: str
) -> None:
    axle = AXLES[layout][0]
    toed = [unit for unit in units(layout) if axle_of(unit) == axle]
    body = Body(layout, toe={unit: inward * math.radians(0.5) for unit in toed})
    statics = {unit: side for unit, side in rubbed(body.settled(forward=forward)).items() if unit in toed}
    found = modelled(layout, cause, Place(axle=axle), sign, {"travel": travel})
    assert {unit: sides for unit, sides in found.items() if unit in toed} == only(statics)


@pytest.mark.parametrize(("cause", "inward"), [("toe-in-error", 1), ("toe-out-error", -1)])
def test_bar_ends_are_ground_on_the_side_the_unit_slides_toward(cause: str, inward: int) -> None:
    # friction opposes sliding, so the unit slides away from the face that rubs; that end of each bar leads
    for travel, forward in (("mostly-forward", 1.0), ("mostly-reverse", -1.0)):
        body = Body("two-track", toe=dict.fromkeys(units("two-track"), inward * math.radians(0.5)))
        faces = rubbed(body.settled(forward=forward))
        leads = {unit: {"inboard": "outboard", "outboard": "inboard"}[side] for unit, side in faces.items()}
        found = modelled("two-track", cause, Place(axle="main"), "bar-end-rounding", {"travel": travel})
        assert found == only(leads)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    angle=st.floats(0.1, 1.5),
    run=st.floats(1.5, 3.5),
    gauge=st.floats(1.5, 3.5),
    guilty=st.sampled_from(["left", "right"]),
)
def test_one_frame_out_on_two_tracks_rubs_both_belts_alike(angle: float, run: float, gauge: float, guilty: str) -> None:
    """Why toe is an axle's cause: the body crabs until both belts are pushed inboard, whichever frame is out."""
    pushes = Body("two-track", run=run, gauge=gauge, toe={guilty: math.radians(angle)}).settled()
    assert rubbed(pushes) == {"left": "inboard", "right": "inboard"}
    assert RULEBASE.causes["toe-in-error"].acts_on == "axle"


@pytest.mark.parametrize("hand", ["left", "right"])
def test_turning_to_one_hand_rubs_opposite_wheel_halves_in_front_and_behind(hand: str) -> None:
    pushes = Body("two-track").settled(turning=0.3 if hand == "left" else -0.3)
    front = {unit: side_of(unit, hand_pushed(float(push[21:].sum()))) for unit, push in pushes.items()}
    rear = {unit: side_of(unit, hand_pushed(float(push[:20].sum()))) for unit, push in pushes.items()}
    place = Place(hand=hand)
    assert modelled("two-track", "one-way-turning", place, "idler-flank-polish") == only(front)
    assert modelled("two-track", "one-way-turning", place, "drive-wheel-flank-polish") == only(rear)
    # a lug passes both places, so both of its faces are marked
    both = {unit: {"inboard", "outboard"} for unit in units("two-track")}
    assert modelled("two-track", "one-way-turning", place, "lug-face-scuff") == both


@pytest.mark.parametrize("hand", ["left", "right"])
def test_turning_a_four_track_to_one_hand_pushes_front_and_rear_units_opposite_ways(hand: str) -> None:
    # a rigid four-track scrubs as a whole; an articulated one does so far less, and in the same sense
    pushes = Body("four-track").settled(turning=0.3 if hand == "left" else -0.3)
    found = modelled("four-track", "one-way-turning", Place(hand=hand), "idler-flank-polish")
    assert found == only(rubbed(pushes))
