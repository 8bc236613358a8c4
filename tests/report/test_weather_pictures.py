"""The pictures of the weather in a report: whole, small, with words, and held in the page itself."""

from __future__ import annotations

import base64

from missionsim.report.weather_pictures import CAPTIONS, weather_pictures
from missionsim.world.data import table


def test_four_pictures_together_are_no_larger_than_120_kb():
    assert len(weather_pictures()) == 4
    assert sum(len(picture.source) for picture in weather_pictures()) < 120_000


def test_pictures_are_whole_and_told_their_size():
    for picture, name in zip(weather_pictures(), CAPTIONS, strict=True):
        png = base64.b64decode(picture.source.removeprefix("data:image/png;base64,"), validate=True)
        assert png == table("weather_pictures")[name].tobytes()
        assert png.startswith(b"\x89PNG\r\n\x1a\n")
        assert png.endswith(b"IEND\xaeB`\x82")
        assert (picture.width, picture.height) == (342, 212)  # 3.6 by 2.232 inches at 95 dots


def test_the_report_holds_them_with_words(html):
    for picture in weather_pictures():
        assert picture.source in html
        assert f'alt="{picture.caption}"' in html
    assert "img-src data:" in html
