"""Distances and courses on the earth; the one module that calls a geodesic library.

Exact answers are on the WGS 84 ellipsoid, one pair a call (some 0.1 ms): compute once per pair and keep.
Quick answers are on a sphere and vectorised, for searches. Latitude first, west negative; courses true, 0 up to 360.
Longitudes are accepted on either side of the date line and returned from -180 to 180.

References
----------
.. [1] Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013), as used by geopy.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from geographiclib.geodesic import Geodesic

from missionsim.base.errors import ValidityError
from missionsim.physics.units import M_PER_NM, FloatArray, real, require_within

MEAN_RADIUS_NM = 6_371_008.77 / M_PER_NM
"""Mean radius of the earth, (2 a + b) / 3 of WGS 84."""

_WGS84 = Geodesic.WGS84
_LINE = Geodesic.LATITUDE | Geodesic.LONGITUDE | Geodesic.AZIMUTH | Geodesic.DISTANCE_IN


def distance_course(lat1: float, lon1: float, lat2: float, lon2: float) -> tuple[float, float, float]:
    """Return the shortest distance between two places and the course at both ends.

    Parameters
    ----------
    lat1, lon1, lat2, lon2 : float   From and to. [deg]

    Returns
    -------
    distance_nm : float              [nm]
    course_deg : float               On leaving; 0 where both places are the same. [deg]
    arrival_course_deg : float       On arriving. [deg]

    Raises
    ------
    ValidityError                    If a latitude or longitude is out of range.
    """
    _check(lat1, lon1)
    _check(lat2, lon2)
    line = _WGS84.Inverse(lat1, lon1, lat2, lon2, Geodesic.DISTANCE | Geodesic.AZIMUTH)
    if line["s12"] == 0.0:
        return 0.0, 0.0, 0.0
    return line["s12"] / M_PER_NM, _circle(line["azi1"]), _circle(line["azi2"])


def destination(lat: float, lon: float, course_deg: float, distance_nm: float) -> tuple[float, float]:
    """Return the place a distance away along the geodesic that leaves on a course.

    Parameters
    ----------
    lat, lon : float      [deg]
    course_deg : float    True course at the start. [deg]
    distance_nm : float   [nm]

    Returns
    -------
    lat, lon : float                 [deg]

    Raises
    ------
    ValidityError                    If the latitude or longitude is out of range.
    """
    _check(lat, lon)
    end = _WGS84.Direct(lat, lon, course_deg, distance_nm * M_PER_NM, Geodesic.LATITUDE | Geodesic.LONGITUDE)
    return float(end["lat2"]), float(end["lon2"])


def points_along(lat1: float, lon1: float, lat2: float, lon2: float, fractions: npt.ArrayLike,
                 ) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return places at fractions of the way from one place to another.

    Parameters
    ----------
    lat1, lon1, lat2, lon2 : float   From and to. [deg]
    fractions : (n,) array           0 at the start, 1 at the end; values outside carry on along the line.

    Returns
    -------
    lat, lon, course : (n,) arrays   [deg]

    Raises
    ------
    ValidityError                    If a latitude or longitude is out of range.
    """
    _check(lat1, lon1)
    _check(lat2, lon2)
    line = _WGS84.InverseLine(lat1, lon1, lat2, lon2, _LINE)
    shares = np.atleast_1d(real(fractions)).ravel()
    if line.s13 == 0.0:
        return np.full(shares.size, lat1), np.full(shares.size, _half_circle(lon1)), np.zeros(shares.size)
    rows = [line.Position(share * line.s13, _LINE) for share in shares.tolist()]
    found = np.array([(row["lat2"], row["lon2"], _circle(row["azi2"])) for row in rows]).reshape(-1, 3)
    return found[:, 0], found[:, 1], found[:, 2]


def haversine_nm(lat1: npt.ArrayLike, lon1: npt.ArrayLike, lat2: npt.ArrayLike, lon2: npt.ArrayLike) -> FloatArray:
    """Return distances on a sphere, vectorised; for searches.

    Within 0.6 % of the ellipsoid everywhere, within 0.4 % at latitudes 24 to 50: there east-west legs read up to
    0.3 % short, north-south ones up to 0.4 % long.

    Parameters
    ----------
    lat1, lon1, lat2, lon2 : float or array   Broadcast. [deg]

    Returns
    -------
    float or array                            Distance. [nm]
    """
    phi1, phi2 = np.deg2rad(real(lat1)), np.deg2rad(real(lat2))
    half_dlon = np.deg2rad(real(lon2) - real(lon1)) * 0.5
    square = np.sin((phi2 - phi1) * 0.5) ** 2 + np.cos(phi1) * np.cos(phi2) * np.sin(half_dlon) ** 2
    return 2.0 * MEAN_RADIUS_NM * np.arcsin(np.sqrt(np.minimum(square, 1.0)))


def unit_vectors(lat: npt.ArrayLike, lon: npt.ArrayLike) -> FloatArray:
    """Return the unit vectors of places on a sphere, (n, 3): their products are cosines of the angles between them.

    Parameters
    ----------
    lat, lon : (n,) arrays   [deg]
    """
    phi, turn = np.deg2rad(np.atleast_1d(real(lat))), np.deg2rad(np.atleast_1d(real(lon)))
    return np.stack([np.cos(phi) * np.cos(turn), np.cos(phi) * np.sin(turn), np.sin(phi)], axis=-1)


def along_track_nm(lat: npt.ArrayLike, lon: npt.ArrayLike,
                   lat1: npt.ArrayLike, lon1: npt.ArrayLike,
                   lat2: npt.ArrayLike, lon2: npt.ArrayLike) -> FloatArray:
    """Return how far along a track the nearest point to each place lies, on a sphere.

    Parameters
    ----------
    lat, lon : float or array                 Places. [deg]
    lat1, lon1, lat2, lon2 : float or array   Ends of the track; broadcast with the places. [deg]

    Returns
    -------
    float or array                            From the start, negative behind it. [nm]

    Raises
    ------
    ValidityError                             If the ends of a track are the same place, or antipodes.
    """
    start, normal = _track(lat1, lon1, lat2, lon2)
    place = _unit(lat, lon)
    return MEAN_RADIUS_NM * np.arctan2(_dot(np.cross(normal, start, axis=0), place), _dot(start, place))


def _track(lat1: npt.ArrayLike, lon1: npt.ArrayLike, lat2: npt.ArrayLike, lon2: npt.ArrayLike,
           ) -> tuple[FloatArray, FloatArray]:
    """Return the start and the pole of the great circle, as unit vectors along the first axis."""
    start, end = np.broadcast_arrays(_unit(lat1, lon1), _unit(lat2, lon2))
    normal = np.cross(start, end, axis=0)
    length = np.sqrt(_dot(normal, normal))
    if np.any(length < 1e-9):
        raise ValidityError("a track needs two different places that are not antipodes")
    return start, normal / length


def _unit(lat: npt.ArrayLike, lon: npt.ArrayLike) -> FloatArray:
    phi, lam = np.broadcast_arrays(np.deg2rad(real(lat)), np.deg2rad(real(lon)))
    return np.stack([np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)])


def _dot(a: FloatArray, b: FloatArray) -> FloatArray:
    # Components run along the first axis: three products broadcast where `einsum` would need equal shapes.
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _circle(angle_deg: float) -> float:
    angle = float(angle_deg) % 360.0
    return angle if angle < 360.0 else 0.0


def _half_circle(lon: float) -> float:
    return (float(lon) + 180.0) % 360.0 - 180.0


def _check(lat: float, lon: float) -> None:
    require_within("latitude in degrees", real(lat), -90.0, 90.0)
    require_within("longitude in degrees", real(lon), -360.0, 360.0)
