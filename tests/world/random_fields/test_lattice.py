from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from missionsim.base.errors import ValidityError
from missionsim.base.streams import generator, generators
from missionsim.base.words import Stream
from missionsim.physics.geodesy import MEAN_RADIUS_NM
from missionsim.world.random_fields.autoregression import fill_rows
from missionsim.world.random_fields.knots import Knots, place_sum
from missionsim.world.random_fields.lattice import Lattice, _knots, touched

LATITUDES = st.floats(-89.9, 89.9)
LONGITUDES = st.floats(-180.0, 180.0)


def positions(lattice):
    """Return latitude and longitude of all knots, in degrees."""
    x, y, z = _knots(lattice.size)
    return np.degrees(np.arcsin(z)), np.degrees(np.arctan2(y, x))


def moved(lat, lon, distance_nm, course_deg):
    """Places at a great-circle distance and initial course, by spherical trigonometry."""
    d, la, b = distance_nm / MEAN_RADIUS_NM, np.radians(lat), np.radians(course_deg)
    new = np.arcsin(np.sin(la) * np.cos(d) + np.cos(la) * np.sin(d) * np.cos(b))
    turn = np.arctan2(np.sin(b) * np.sin(d) * np.cos(la), np.cos(d) - np.sin(la) * np.sin(new))
    return np.degrees(new), np.degrees(np.radians(lon) + turn)


@settings(max_examples=60, deadline=None)
@given(lat=LATITUDES, lon=LONGITUDES, spacing=st.sampled_from([60.0, 100.0, 350.0, 900.0]),
       width=st.sampled_from([4, 12, 24]))
def test_squares_of_weights_sum_to_one_everywhere(lat, lon, spacing, width):
    ids, weights = Lattice(spacing).weights([lat], [lon], width)
    assert (weights >= 0.0).all()
    assert len(set(ids[0].tolist())) == width
    assert (weights**2).sum() == pytest.approx(1.0, abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(lat=LATITUDES, lon=LONGITUDES)
def test_knots_chosen_are_the_nearest_of_all(lat, lon):
    lattice = Lattice(350.0)
    ids, _ = lattice.weights([lat], [lon])
    knot_lat, knot_lon = np.radians(positions(lattice))
    la, lo = np.radians(lat), np.radians(lon)
    cosine = np.sin(knot_lat) * np.sin(la) + np.cos(knot_lat) * np.cos(la) * np.cos(knot_lon - lo)
    assert set(ids[0].tolist()) == set(np.argsort(-cosine)[:12].tolist())


@settings(max_examples=30, deadline=None)
@given(lat=st.floats(-85.0, 85.0), lon=LONGITUDES, course=st.floats(0.0, 360.0))
def test_field_is_continuous_as_a_place_moves(lat, lon, course):
    steps = np.arange(200) * 0.5
    la, lo = moved(np.full(200, lat), np.full(200, lon), steps, course)
    ids, weights = Lattice(100.0).weights(la, lo)
    knots, local = touched(ids)
    noise = generator(3, 0, Stream.WINDS_ALOFT).standard_normal((1, knots.size), dtype=np.float32)
    value = (noise[0][local] * weights).sum(axis=1)
    assert np.abs(np.diff(value)).max() < 0.06  # half a mile of a hundred; a jump would be of order one


def test_date_line_is_no_seam():
    lattice = Lattice(100.0)
    east, west = lattice.weights([52.0], [180.0]), lattice.weights([52.0], [-180.0])
    assert (east[0] == west[0]).all()
    assert east[1] == pytest.approx(west[1], abs=1e-9)
    assert lattice.correlation([52.0], [179.9], [52.0], [-179.9])[0] > 0.98


def test_weights_do_not_depend_on_which_places_are_asked():
    rng = np.random.default_rng(5)
    lat, lon = rng.uniform(5, 75, 700), rng.uniform(-170, -50, 700)
    ids, weights = Lattice(100.0).weights(lat, lon)
    for chosen in ([3], [699, 3, 257], range(100, 420)):
        some_ids, some = Lattice(100.0).weights(lat[list(chosen)], lon[list(chosen)])
        assert (some_ids == ids[list(chosen)]).all()
        assert (some == weights[list(chosen)]).all()


@pytest.mark.parametrize("spacing", [100.0, 350.0])
def test_correlation_against_distance(spacing):
    """Closed form over random pairs: falls to 1/e at 1.5 spacings, to nothing by 4, much the same everywhere."""
    rng = np.random.default_rng(1)
    lat, lon, course = rng.uniform(20, 60, 1500), rng.uniform(-130, -65, 1500), rng.uniform(0, 360, 1500)
    measured = {}
    for share in (0.25, 0.5, 1.0, 1.5, 2.0, 4.0):
        values = Lattice(spacing).correlation(lat, lon, *moved(lat, lon, share * spacing, course))
        measured[share] = values.mean()
        assert values.std() < 0.035, (share, values.std())
    expected = {0.25: 0.972, 0.5: 0.896, 1.0: 0.65, 1.5: 0.375, 2.0: 0.163, 4.0: 0.0}
    # Independent form: the kernel's own convolution in the plane, by quadrature on a fine grid.
    assert measured == pytest.approx({s: plane_correlation(s) for s in expected}, abs=0.03), measured
    assert measured[1.5] == pytest.approx(np.exp(-1.0), abs=0.02)


def plane_correlation(distance: float) -> float:
    """Autocorrelation at a distance in spacings of the kernel in a plane with one knot per unit area."""
    axis = np.arange(-6, 6, 0.05)
    x, y = np.meshgrid(axis, axis)
    radius2 = 13.0 / np.pi  # the circle that holds thirteen knots on average
    here = np.clip(1 - (x**2 + y**2) / radius2, 0, None) ** 2
    there = np.clip(1 - ((x - distance) ** 2 + y**2) / radius2, 0, None) ** 2
    return float((here * there).sum() / (here**2).sum())


@pytest.mark.parametrize("phi", [0.3, 0.8, 0.95])
def test_series_are_stationary_normal_and_correlated_as_given(phi):
    n = 6000
    series = np.empty((n, 40), dtype=np.float32)
    fill_rows(generators(7, 0, Stream.WINDS_ALOFT, np.arange(n)), phi, series)
    error = np.sqrt(2.0 / n)
    assert np.abs((series**2).mean(axis=0) - 1.0).max() < 4.5 * error
    assert (series[:, 1:] * series[:, :-1]).mean(axis=0) == pytest.approx(np.full(39, phi), abs=4.5 * error)
    assert (series[:, 5:] * series[:, :-5]).mean() == pytest.approx(phi**5, abs=4 * error)
    assert (series[:, -1] ** 4).mean() == pytest.approx(3.0, abs=4 * np.sqrt(96.0 / n))


def test_fewer_places_give_the_same_bits():
    lat, lon = np.linspace(30, 48, 30), np.linspace(-120, -75, 30)
    every, one = Knots.of(100.0, lat, lon), Knots.of(100.0, lat[17:18], lon[17:18])

    def field(knots, places):
        rows = np.empty((knots.ids.size, 200), dtype=np.float32)
        fill_rows(generators(1, 0, Stream.SURFACE_WEATHER, knots.ids), 0.95, rows)
        return place_sum(rows, knots, places)

    assert (field(every, np.arange(30))[17] == field(one, np.arange(1))[0]).all()


def test_faults_say_what_is_accepted():
    with pytest.raises(ValidityError, match="20 to 1,000"):
        Lattice(5.0)
    with pytest.raises(ValidityError, match="-90 to 90"):
        Lattice(100.0).weights([95.0], [0.0])


def test_a_foot_adds_what_regions_share_and_keeps_the_variance():
    """Correlation of places so far apart: the shares of both lattices times what each gives on its own."""
    rng = np.random.default_rng(4)
    lat, lon = rng.uniform(28, 48, 300), rng.uniform(-120, -75, 300)
    both = Knots.with_foot((45.0, 250.0), 0.4, np.concatenate([lat, lat]), np.concatenate([lon, lon + 2.0]))
    assert (both.weight.astype(float) ** 2).sum(axis=1) == pytest.approx(1.0, abs=1e-6)
    dense = np.zeros((600, both.ids.size))
    np.put_along_axis(dense, both.index, both.weight, axis=1)
    found = (dense[:300] * dense[300:]).sum(axis=1)
    alone = [Lattice(spacing).correlation(lat, lon, lat, lon + 2.0) for spacing in (45.0, 250.0)]
    assert found == pytest.approx(0.6 * alone[0] + 0.4 * alone[1], abs=1e-6)


def test_without_a_foot_the_narrow_lattice_gives_the_same_bits():
    lat, lon = np.linspace(30, 48, 30), np.linspace(-120, -75, 30)
    with_foot, plain = Knots.with_foot((150.0, 400.0), 0.0, lat, lon), Knots.of(150.0, lat, lon)

    def field(knots):
        nodes = np.empty((knots.ids.size, 8), dtype=np.float32)
        for row, random in zip(nodes, generators(1, 0, Stream.SEASON_EFFECT, knots.ids), strict=True):
            random.standard_normal(out=row, dtype=np.float32)
        return place_sum(nodes, knots, np.arange(30))

    assert (field(with_foot) == field(plain)).all()


def test_no_knot_of_the_wide_lattice_has_the_luck_of_one_of_the_narrow():
    lat, lon = np.linspace(25, 50, 40), np.linspace(-125, -65, 40)
    spacings = (300.0, 320.0)
    apart = sum(Knots.of(spacing, lat, lon).ids.size for spacing in spacings)
    assert Knots.with_foot(spacings, 0.4, lat, lon).ids.size == apart
