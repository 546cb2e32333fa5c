"""A recorded water test against the picked rows: hottest water, a head's flow, puddles seen; what was not measured."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainward.finding import Finding, Verdict
from drainward.job.model import Job, Puddle, RuleChoice, Water, WaterTest
from drainward.rules import load_rules
from drainward.rules.water_check import at_job_flow, water_findings

GPM = 3.785411784e-3 / 60
HOT, ADA_HOT = "us-plumbing-irc-2021/P2708.4-temperature", "us-ada-2010/608.6-temperature"
FLOW, PUDDLE = "us-plumbing-irc-2021/P2903.2-flow", "practice/puddle"


def judged(test: WaterTest | None, **choice: Any) -> dict[str, Finding]:
    job = Job(name="job", rules=RuleChoice(**choice))
    return {finding.id: finding for finding in water_findings(job, load_rules(job.rules), test)}


def recorded(**seen: Any) -> WaterTest:
    return WaterTest(id="w", room="101", poured=3.785e-3, over=60, **seen)


@pytest.mark.parametrize("test", [None, recorded()], ids=["no test", "nothing measured"])
def test_what_was_not_measured_is_asked_for(test: WaterTest | None) -> None:
    found = judged(test)
    assert {HOT, ADA_HOT, FLOW, PUDDLE} == set(found)
    assert {(Verdict.NOT_PROVEN, None, None)} == {(f.verdict, f.value, f.probability) for f in found.values()}
    assert found[HOT].advice.startswith("Hold a thermometer under the head with the handle at its hottest for a minute")
    assert "Water at 140 °F (60 °C) burns skin deeply in less than 5 seconds" in found[HOT].advice
    assert "catch its water for 15 s in a bucket" in found[FLOW].advice
    assert found[FLOW].limit == "no more than 2.5 gpm (9.46 L/min)"
    assert "stand a rule in the middle of each puddle" in found[PUDDLE].advice


def test_only_rows_that_bind_are_asked_about() -> None:
    assert judged(None, use=("straightedge",)) == {}
    assert ADA_HOT not in judged(None, shower="not accessible")
    assert set(judged(None, use=("us-showerhead-label",))) == {"us-showerhead-label/flow"}


@pytest.mark.parametrize(
    ("hottest", "verdict", "says"),
    [
        (43.0, Verdict.MEETS, "Below 120 °F"),
        (49.0, Verdict.NOT_PROVEN, "Measure again for a minute with a better thermometer"),
        (
            57.0,
            Verdict.FAILS,
            "Let nobody bathe here: turn the valve's limit stop down and measure again. Water at 130 °F",
        ),
    ],
)
def test_the_hottest_water(hottest: float, verdict: Verdict, says: str) -> None:
    found = judged(recorded(hottest=hottest))
    for id in (HOT, ADA_HOT):
        assert (verdict, hottest, 1.0) == (found[id].verdict, found[id].value, found[id].u)
        assert says in found[id].advice
        assert "burn sooner" in found[id].advice


def test_a_better_thermometer_settles_what_a_poorer_one_cannot() -> None:
    assert Verdict.NOT_PROVEN is judged(recorded(hottest=48.0))[HOT].verdict
    assert Verdict.MEETS is judged(recorded(hottest=48.0, u_hottest=0.3))[HOT].verdict


@pytest.mark.parametrize(("gpm", "verdict"), [(2.0, Verdict.MEETS), (2.5, Verdict.NOT_PROVEN), (3.0, Verdict.FAILS)])
def test_the_flow_of_a_head(gpm: float, verdict: Verdict) -> None:
    finding = judged(recorded(flow=gpm * GPM))[FLOW]
    assert verdict is finding.verdict
    assert "less pressure gives less flow" in finding.advice
    assert finding.source.endswith("binds shower head, a hand-held one included, at 80 psi")


def test_the_same_flow_may_be_too_much_elsewhere() -> None:
    found = judged(recorded(flow=2.0 * GPM), use=("us-showerhead-federal", "us-showerhead-california", "au-ncc-2022"))
    assert Verdict.MEETS is found["us-showerhead-federal/430.32p"].verdict
    assert Verdict.FAILS is found["us-showerhead-california/1605.3"].verdict
    assert Verdict.MEETS is found["au-ncc-2022/flow"].verdict


def test_a_limit_that_binds_only_some_buildings_does_not_decide_until_the_job_says_so() -> None:
    care = "au-ncc-2022/B2D5-care"
    found = judged(recorded(hottest=48.0, u_hottest=0.3), use=("au-ncc-2022",))
    assert (Verdict.MEETS, Verdict.NOT_PROVEN) == (found["au-ncc-2022/B2D5-other"].verdict, found[care].verdict)
    settled = judged(recorded(hottest=48.0, u_hottest=0.3), use=("au-ncc-2022",), confirmed=(care,))
    assert Verdict.FAILS is settled[care].verdict


@pytest.mark.parametrize(
    ("puddles", "value", "verdict"),
    [
        (None, None, Verdict.NOT_PROVEN),
        ((), 0.0, Verdict.MEETS),
        ((Puddle(x=0.5, y=0.4, depth=0.002),), 0.002, Verdict.MEETS),
        ((Puddle(x=0.5, y=0.4, depth=0.002), Puddle(x=0.9, y=0.2, depth=0.006)), 0.006, Verdict.FAILS),
        ((Puddle(x=0.5, y=0.4, depth=0.0035),), 0.0035, Verdict.NOT_PROVEN),
        ((Puddle(x=0.5, y=0.4, depth=0.002), Puddle(x=0.9, y=0.2)), None, Verdict.NOT_PROVEN),
    ],
)
def test_the_deepest_puddle_seen(puddles: tuple[Puddle, ...] | None, value: float | None, verdict: Verdict) -> None:
    finding = judged(recorded(puddles=puddles))[PUDDLE]
    assert (value, verdict) == (finding.value, finding.verdict)
    if verdict is Verdict.FAILS:
        assert "Wipe it with a drop of dish soap and pour again" in finding.advice
        assert "Exception to weigh: A shallower patch counts too" in finding.advice


def test_the_drain_is_asked_to_take_the_jobs_own_shower() -> None:
    (row,) = load_rules(RuleChoice()).requirements("drain.capacity", "transfer")
    assert at_job_flow(row, Job(name="job")) is row
    more = at_job_flow(row, Job(name="job", water=Water(flow=5 * GPM)))
    assert (5 * GPM, "at least 5 gpm (set by the job)") == (more.low, more.written)
    (other,) = load_rules(RuleChoice()).requirements("shower.flow", "transfer")
    assert at_job_flow(other, Job(name="job", water=Water(flow=5 * GPM))) is other


@given(st.floats(0, 95), st.floats(0.1, 5), st.floats(1e-6, 1e-3), st.floats(1e-7, 1e-4))
def test_every_measured_quantity_is_told_with_its_uncertainty(
    hottest: float, u_hottest: float, flow: float, u_flow: float
) -> None:
    found = judged(recorded(hottest=hottest, u_hottest=u_hottest, flow=flow, u_flow=u_flow))
    assert (hottest, u_hottest, flow, u_flow) == (found[HOT].value, found[HOT].u, found[FLOW].value, found[FLOW].u)
    assert all("complian" not in f"{f.what} {f.advice} {f.limit}".lower() for f in found.values())
