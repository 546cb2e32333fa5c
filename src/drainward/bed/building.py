"""What to buy for all rooms of a building: `Buying`, `buying`, and what bags really used say, `yield_learned`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from drainward.bed.buy import Delivery, Need, Purchase, Yield, deliveries, learned, leftovers, purchase, service_level
from drainward.bed.mix import bag_yield
from drainward.bed.result import BedPlan
from drainward.job.materials import Mortar
from drainward.job.model import Job

__all__ = ["Bought", "Buying", "buying", "yield_learned"]

U_BEAD = 0.1
"""How far a bead is off its thickness, share of what it takes, standard uncertainty; common practice, no source."""
ORDINARY = 2.0
"""Bags of 50 lb that serve an ordinary unit: common practice, no source."""
_BAGS, _TUBES = "mortar, bags", "adhesive, tubes"


@dataclass(frozen=True, slots=True)
class Bought:
    """One thing to buy: what it is, how many, and by when.  lost : packs expected to go stale once opened."""

    what: str
    purchase: Purchase
    deliveries: tuple[Delivery, ...]
    lost: float

    def as_json(self) -> dict[str, Any]:
        """Counts of packs; weeks by their Monday."""
        p = self.purchase
        return {
            "what": self.what,
            "buy": p.weighed,
            "whole_packs_by_room": p.whole,
            "each_room_alone": p.by_room,
            "expected": p.expected,
            "short": p.short,
            "lost": self.lost,
            "deliveries": [
                {"week": None if d.week is None else d.week.isoformat(), "rooms": list(d.rooms), "packs": d.packs}
                for d in self.deliveries
            ],
        }


@dataclass(frozen=True, slots=True)
class Buying:
    """level : certainty that the mortar is enough;  factor : packs used for each pack computed, as far as known.

    guessed : rooms whose bed is not known yet, for which mortar is bought as for the others
    """

    level: float
    factor: Yield
    things: tuple[Bought, ...]
    guessed: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The stable JSON of what to buy."""
        return {
            "level": self.level,
            "yield_factor": {"value": self.factor.factor, "u": self.factor.u},
            "guessed": list(self.guessed),
            "things": [thing.as_json() for thing in self.things],
        }


def buying(
    job: Job,
    plans: Iterable[BedPlan],
    *,
    mortar: Mortar | None = None,
    level: float | None = None,
    factor: Yield | None = None,
    pieces: Mapping[str, Mapping[str, int]] | None = None,
) -> Buying:
    """For the rooms of these plans; the mortar is weighed on a scale, so that parts of bags serve other rooms.

    level  : certainty that each thing is enough; None for what costs least, by the job's costs of a pack
    factor : as `yield_learned` tells it; None for what the bag's own uncertainty tells
    pieces : whatever is counted: by name, how many each room takes; `screws` and `shims` are bought in the job's packs
    Raises ValueError as `buy.pooled` does.
    """
    mortar = mortar or job.materials.mortar
    told, costs = list(plans), job.materials.costs
    sure = level or service_level(costs.bag_short, costs.bag)
    sure_tubes = level or service_level(costs.tube_short, costs.tube)
    known = factor or Yield(1.0, bag_yield(mortar).shared)
    ready = {room.room: room.ready for room in job.rooms}
    computed = _bags(told, mortar)
    guessed = _guessed(told, computed)
    bags = [
        replace(need, mean=known.factor * need.mean, sd=known.factor * need.sd, ready=ready.get(need.room))
        for need in (*computed, *guessed)
    ]
    tubes = [Need(p.room, p.bead.tubes, U_BEAD * p.bead.tubes, ready.get(p.room)) for p in told]
    lost = leftovers(bags, mortar.shelf_life)
    things = [_bought(_BAGS, bags, known.u / known.factor, sure, lost), _bought(_TUBES, tubes, 0.0, sure_tubes, 0.0)]
    for what, counts in (pieces or {}).items():
        pack, spare = _packed(job, what)
        needs = [Need(room, count * (1 + spare) / pack, 0.0, ready.get(room)) for room, count in counts.items()]
        things.append(_bought(what if pack == 1 else f"{what}, packs of {pack}", needs, 0.0, sure, 0.0))
    return Buying(sure, known, tuple(things), tuple(need.room for need in guessed))


def yield_learned(plans: Iterable[BedPlan], used: Mapping[str, float], mortar: Mortar | None = None) -> Yield:
    """What bags really used, by room, say of the yield that all rooms share; rooms without a plan tell nothing."""
    mortar = mortar or Mortar()
    needs = [need for need in _bags(plans, mortar) if need.room in used]
    return learned(Yield(1.0, bag_yield(mortar).shared), [used[need.room] for need in needs], needs)


def _packed(job: Job, what: str) -> tuple[int, float]:
    """How many come in a pack, and the share bought over what is counted."""
    screws, shims = job.materials.screws, job.materials.shims
    return {"screws": (screws.box, screws.spare), "shims": (shims.bundle, shims.spare)}.get(what, (1, 0.0))


def _guessed(told: Sequence[BedPlan], known: Sequence[Need]) -> list[Need]:
    """For rooms whose bed is not known yet: as the others of the job, or the ordinary two bags where none is."""
    means = [need.mean for need in known] or [ORDINARY]
    mean = sum(means) / len(means)
    spread = max((sum((m - mean) ** 2 for m in means) / max(len(means) - 1, 1)) ** 0.5, 0.25 * mean)
    return [Need(plan.room, mean, spread) for plan in told if plan.mix is None]


def _bags(plans: Iterable[BedPlan], mortar: Mortar) -> list[Need]:
    """Bags by room, with what each does not share with the others."""
    shared = bag_yield(mortar).shared
    found = []
    for plan in plans:
        if plan.mix is not None:
            own = max(plan.mix.u_bags**2 - (shared * plan.mix.bags) ** 2, 1e-9) ** 0.5
            found.append(Need(plan.room, plan.mix.bags, own))
    return found


def _bought(what: str, needs: Sequence[Need], common: float, level: float, lost: float) -> Bought:
    return Bought(what, purchase(needs, common, level, lost), deliveries(needs, common, level), lost)
