"""Mix, batches, bead and ridges: what is mixed is what the void takes, in time and by zones."""

from __future__ import annotations

import numpy as np
import pytest
from bed_cases import flat
from shower_units import INCH

from drainward.bed.batches import batches, pot_life
from drainward.bed.bead import bead
from drainward.bed.mix import BUCKET, WASTE, bag_yield, mix
from drainward.bed.ridges import USUAL, pour_words, squeeze, zones
from drainward.job.materials import Adhesive, Mortar

BAG = Mortar()


def test_the_yields_uncertainty_is_that_of_drawn_bags() -> None:
    rng = np.random.default_rng(0)
    mass, density, water, air = (
        mean + u * rng.standard_normal(200_000)
        for mean, u in (
            (BAG.bag_mass, BAG.u_bag_mass), (BAG.density, BAG.u_density),
            (BAG.water_per_bag, BAG.u_water_per_bag), (BAG.air, BAG.u_air),
        )
    )  # fmt: skip
    drawn = (mass / density + water) / (1 - air)
    assert bag_yield(BAG).volume == pytest.approx(drawn.mean(), rel=0.002)
    assert bag_yield(BAG).u == pytest.approx(drawn.std(), rel=0.02)


def test_wet_density_is_that_of_mortar() -> None:
    assert 2000 < bag_yield(BAG).density < 2160


def test_what_is_mixed_is_enough_and_by_weight() -> None:
    found = mix(0.02, 0.001, BAG, level=0.95)
    assert found.wanted == pytest.approx(0.02 / (1 - WASTE))
    assert found.bags < found.weighed <= found.whole
    assert found.powder / BAG.bag_mass == pytest.approx(found.weighed)
    assert found.buckets * BUCKET >= found.weighed * bag_yield(BAG).volume
    assert found.bucket_mass * found.buckets == pytest.approx(found.powder + 1000 * found.water)


def test_more_certainty_takes_more() -> None:
    assert mix(0.02, 0.002, BAG, 0.99).weighed > mix(0.02, 0.002, BAG, 0.6).weighed


def test_nothing_to_fill_is_refused() -> None:
    with pytest.raises(ValueError, match="over nought"):
        mix(0.0, 0.001, BAG)


def test_pot_life_is_shorter_in_the_heat() -> None:
    assert pot_life(BAG, BAG.reference_temperature) == BAG.pot_life
    assert pot_life(BAG, 35.0) < BAG.pot_life < pot_life(BAG, 10.0)


@pytest.mark.parametrize("temperature", [5.0, 21.0, 40.0])
def test_every_batch_is_placed_within_its_pot_life_and_all_of_the_void_is_filled_in_order(temperature: float) -> None:
    combed = zones(flat())
    mixed = mix(sum(zone.volume for zone in combed), 1e-4, BAG)
    found = batches(mixed, combed, BAG, temperature)
    assert all(batch.bags <= 1 + 1e-9 for batch in found.batches)
    assert all(batch.age <= found.pot_life * (1 + 1e-9) for batch in found.batches)
    assert sum(batch.bags for batch in found.batches) == pytest.approx(mixed.weighed)
    places = [place for batch in found.batches for place in batch.places]
    assert [zone for zone, _ in places] == sorted(zone for zone, _ in places)
    for k, zone in enumerate(combed):
        assert sum(volume for at, volume in places if at == k) == pytest.approx(zone.volume)


def test_zones_add_up_to_the_void_from_the_drain_outward() -> None:
    void = flat()
    combed = zones(void)
    assert combed[0].box
    assert sum(zone.volume for zone in combed) == pytest.approx(void.volume)
    assert np.array_equal(sum(zone.mask.astype(int) for zone in combed), np.ones_like(void.boxed, dtype=int))


def test_ridges_keep_their_volume_and_stand_over_the_thickest_place() -> None:
    for zone in zones(flat(1.0)):
        if not zone.box:
            assert zone.base + zone.notch.collapsed == pytest.approx(zone.thickness)
            assert zone.top >= zone.high
            assert zone.touches > 0.9


def test_the_box_out_is_filled_to_within_an_eighth_of_its_top() -> None:
    assert zones(flat())[0].top == pytest.approx(1.375 * INCH)


def test_the_usual_comb_has_three_quarter_inch_notches() -> None:
    assert USUAL.size == pytest.approx(0.75 * INCH)


def test_the_pour_is_said_zone_by_zone_box_out_first() -> None:
    combed = zones(flat())
    told = pour_words(combed)
    assert len(told) == len(combed)
    assert told[0] == 'Plug the core round the pipe; fill the box-out 1-3/8" deep.'
    assert all("comb with" in words for words in told[1:])


def test_ridges_squeeze_under_a_man_where_a_full_bed_does_not() -> None:
    found = squeeze(0.625 * INCH, USUAL, (60 * INCH, 36 * INCH))
    assert found.area[0] > 0.3, "a man presses more than he stands on"
    assert found.flat[1] > 800.0


def test_the_bead_grows_with_the_square_of_its_diameter() -> None:
    thin, thick = (bead(1.5, Adhesive(bead_diameter=d * INCH)).tubes for d in (0.5, 1.0))
    assert thick == pytest.approx(4 * thin)
    assert bead(60 * INCH, Adhesive()).buy == 3
