"""Open water below a flight: a coast made by hand, the packaged table against charts, and how the table is made."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import missionsim
from missionsim.base.assumptions import packaged_assumptions
from missionsim.derive import water as derive_water
from missionsim.world.airports.table import AirportTable
from missionsim.world.ground.water import Glide, Heights, Water

DATA = Path(missionsim.__file__).parent / "data"
GLIDE = Glide(1.5, 5.0)
LEVEL = np.zeros(1)
"""No way is lost in climb or descent."""


def straight_coast(water_ft=0.0):
    """Return a coast along the prime meridian at the equator: land in the west, 2 degrees of water in the east."""
    land_nm = np.tile(np.maximum(np.arange(-60, 121), 0).astype(np.float32), (61, 1))
    return Water(land_nm, np.where(land_nm > 0.0, np.float32(water_ft), np.float32(0.0)), 0.5, -1.0, 1.0 / 60.0)


def at_level(level_ft, climb_nm=0.0, descent_nm=0.0, from_ft=0.0, to_ft=0.0):
    return Heights(np.array([level_ft]), LEVEL + climb_nm, LEVEL + descent_nm, from_ft, to_ft)


@pytest.fixture(scope="module")
def over_nm():
    airports, water = AirportTable.packaged(packaged_assumptions()), Water.packaged()

    def between(a, b):
        ends = [(p.latitude_deg, p.longitude_deg) for p in map(airports.find, (a, b))]
        below = water.below(ends)
        return 0.0 if below is None else float(below.part_nm[below.land_nm > 0.0].sum())

    return between


class TestByHand:
    def test_distance_is_straight_between_nodes(self):
        coast = straight_coast()
        assert coast.from_land_nm([0.0, 0.0, 0.1], [-0.5, 0.025, 1.01]) == pytest.approx([0.0, 1.5, 60.6])

    @pytest.mark.parametrize(("level_ft", "beyond_nm"), [(2000.0, 57.0), (8000.0, 48.0), (40_000.0, 0.0)])
    def test_what_a_glide_does_not_reach(self, level_ft, beyond_nm):
        # 60 nm out to sea; 1.5 nm a thousand feet come off at the shore.
        below = straight_coast().below([(0.0, -0.5), (0.0, 1.0)])
        assert below.part_nm.sum() == pytest.approx(90.0, abs=0.2)
        assert below.beyond_nm(at_level(level_ft), GLIDE)[0] == pytest.approx(beyond_nm, abs=1.0)

    def test_height_counts_from_the_water(self):
        # 8,000 ft over a lake at 2,000 ft are 6,000 ft of glide: 9 nm.
        below = straight_coast(water_ft=2000.0).below([(0.0, -0.5), (0.0, 1.0)])
        assert below.beyond_nm(at_level(8000.0), GLIDE)[0] == pytest.approx(51.0, abs=1.0)

    def test_climbing_out_to_sea(self):
        # From the shore to 8,000 ft in 20 nm: 0.6 nm of glide for each mile gone, so beyond it from the first one on.
        below = straight_coast().below([(0.0, 0.0), (0.0, 1.0)])
        assert below.beyond_nm(at_level(8000.0, climb_nm=20.0), GLIDE)[0] == pytest.approx(60.0, abs=0.2)
        # In 10 nm: 1.2 nm a mile; beyond the glide of the level itself alone.
        assert below.beyond_nm(at_level(8000.0, climb_nm=10.0), GLIDE)[0] == pytest.approx(48.0, abs=1.0)

    def test_descending_to_the_shore_is_the_climb_turned_round(self):
        out = straight_coast().below([(0.0, 0.0), (0.0, 1.0)]).beyond_nm(at_level(8000.0, climb_nm=20.0), GLIDE)
        back = straight_coast().below([(0.0, 1.0), (0.0, 0.0)]).beyond_nm(at_level(8000.0, descent_nm=20.0), GLIDE)
        assert back == pytest.approx(out)

    def test_levels_stand_side_by_side(self):
        below = straight_coast().below([(0.0, -0.5), (0.0, 1.0)])
        many = Heights(np.array([[2000.0, 8000.0]]), np.zeros((1, 2)), np.zeros((1, 2)), 0.0, 0.0)
        assert below.beyond_nm(many, GLIDE).shape == (1, 2)
        assert below.beyond_nm(many, GLIDE)[0] == pytest.approx([57.0, 48.0], abs=1.0)

    def test_a_bend_that_keeps_to_land_has_none(self):
        assert straight_coast().below([(0.3, -0.1), (0.0, -0.4), (-0.3, -0.1)]) is None

    def test_nothing_is_told_beyond_the_table(self):
        assert straight_coast().below([(10.0, 0.0), (10.0, 1.0)]) is None


class TestPackaged:
    """Widths of water as read off charts, from memory; nodes lie 2 to 2.5 nm apart."""

    @pytest.mark.parametrize(("a", "b", "nm"), [
        ("KMKE", "KMKG", 70.0),   # Lake Michigan, 80 statute miles
        ("KBFM", "KCLW", 290.0),  # from the mouth of a bay straight to the west coast of Florida
        ("KFXE", "MYGF", 75.0),   # to an island that the outline of the country does not hold
    ])
    def test_across(self, over_nm, a, b, nm):
        assert over_nm(a, b) == pytest.approx(nm, abs=6.0)

    @pytest.mark.parametrize(("a", "b"), [("KOMA", "KDEN"), ("KDAL", "KHOU"), ("KTPA", "KJAX"), ("KMSP", "KDLH")])
    def test_over_land(self, over_nm, a, b):
        assert over_nm(a, b) == 0.0

    def test_lakes_lie_as_high_as_they_do(self):
        # Published low water datums: Superior 601.1, Michigan 577.5, Erie 569.2, Ontario 243.3 ft.
        found = Water.packaged().surface_ft([47.6, 43.2, 42.1, 43.6, 27.5], [-87.5, -87.0, -81.2, -77.8, -85.0])
        assert found == pytest.approx([601.1, 577.5, 569.2, 243.3, 0.0], abs=6.0)

    def test_every_airport_lies_on_land(self):
        airports, water = AirportTable.packaged(packaged_assumptions()), Water.packaged()
        far = water.from_land_nm(airports.latitude_deg, airports.longitude_deg)
        assert far.max() < 3.0  # a node apart

    def test_says_where_it_comes_from(self):
        with np.load(DATA / "water.npz") as found:
            assert all(str(found[f"meta_{what}"]) for what in ("source", "date", "note"))


class TestMaking:
    def test_rings_run_through_their_arcs(self):
        # Two arcs make a square, the second one backwards.
        topology = {"transform": {"scale": [1, 1], "translate": [0, 0]},
                    "arcs": [[[0, 0], [2, 0], [0, 2]], [[0, 0], [0, 2], [2, 0]]],
                    "objects": {"nation": {"geometries": [{"arcs": [[[0, -2]]]}]}}}
        (ring,) = derive_water.rings(topology)
        assert ring.tolist() == [[0, 0], [0, 2], [2, 2], [2, 0], [0, 0]]

    def test_inside(self):
        square = np.array([[0.0, 0.0], [0.0, 2.0], [2.0, 2.0], [2.0, 0.0], [0.0, 0.0]])
        hole = 0.5 + 0.5 * square
        found = derive_water.inside([square, hole], np.array([-1.0, 0.25, 1.0]), np.array([-1.0, 0.25, 1.0, 1.8]))
        assert found.tolist() == [[False] * 4, [False, True, True, True], [False, True, False, True]]

    def test_a_lake_spreads_over_what_is_as_high(self):
        height_m = np.array([[176, 177, 200, 176], [176, 190, 200, 176]])
        found = derive_water.lakes(height_m, [(0, 0)], np.ones(height_m.shape, dtype=bool))
        assert found.tolist() == [[True, True, False, False], [True, False, False, False]]

    def test_nearest(self):
        found = derive_water.nearest_nm(np.array([[0.0, 0.0], [0.0, 1.5], [40.0, 9.0]]),
                                        np.array([[0.0, 1.0], [-1.0, 0.0]]))
        assert found == pytest.approx([60.0, 30.0, derive_water.MOST_NM], abs=0.1)
