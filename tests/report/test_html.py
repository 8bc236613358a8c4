"""The page as text: self-contained, escaped, with every part a reader needs and a word for those who cannot see it."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from markupsafe import escape

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.words import EXPLAINED
from missionsim.report.answer import answer
from missionsim.report.frame import Headings, labels
from missionsim.report.html import figures, report_html
from missionsim.report.influential_assumptions import ALWAYS, BY_GROUP, BY_REASON, influential_assumptions
from missionsim.report.not_modelled import NOT_MODELLED
from missionsim.report.svg_figure import SvgFigure
from missionsim.report.wording import CAUTIONS, GROUPS


class Outline(HTMLParser):
    """Collects identifiers, headings, links and what is drawn."""

    def __init__(self, text):
        super().__init__()
        self.ids, self.links, self.headings, self.tags, self.labels, self.open = [], [], [], [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.tags.append(tag)
        if "id" in given:
            self.ids.append(given["id"])
        if tag == "a":
            self.links.append(given.get("href", ""))
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag == "svg" and given.get("aria-hidden") != "true" and given.get("class") != "key":
            self.labels.append((given.get("role"), given.get("aria-label", "")))


@pytest.fixture(scope="module")
def outline(html):
    return Outline(html)


def test_markup_in_names_shows_as_text(html, outline):
    assert "&lt;b onclick=" in html
    for raw in ('<b onclick="alert(1)">', "<script>alert(2)", "<i>study", "<em>one"):
        assert raw not in html
    assert len(re.findall(r"<script(?! type=.application/json)", html)) == 1     # data is no script
    assert "$quick$" in html  # no formula made of a name


def test_nothing_is_fetched(html):
    assert not re.search(r"""(src|href)\s*=\s*["'](?!#|data:)""", html)
    assert "@import" not in html
    assert not re.search(r"url\((?!#)", html)
    assert "default-src &#39;none&#39;" in html or "default-src 'none'" in html


def test_only_the_script_and_style_of_the_page_itself_run(html):
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html)[1]
    assert "unsafe" not in policy
    for tag, where in (("script", "script-src"), ("style", "style-src")):
        bodies = re.findall(rf"<{tag}>(.*?)</{tag}>", html, flags=re.S)
        assert len(bodies) == 1
        digest = base64.b64encode(hashlib.sha256(bodies[0].encode()).digest()).decode()
        assert f"{where} 'sha256-{digest}'" in policy


def test_identifiers_are_unique_and_links_lead_somewhere(outline):
    assert len(outline.ids) == len(set(outline.ids))
    for link in outline.links:
        assert link.startswith("#")
        assert link[1:] in outline.ids


def test_headings_step_down_one_by_one(outline):
    assert outline.headings[0] == 1
    assert outline.headings.count(1) == 1
    for before, after in zip(outline.headings[:-1], outline.headings[1:], strict=True):
        assert after <= before + 1


def test_every_figure_has_words(outline):
    assert len(outline.labels) >= 8
    for role, words in outline.labels:
        assert role == "img"
        assert len(words) > 20


def test_the_parts_a_reader_needs_are_there(html):
    for text in (*CAUTIONS, *(t for _, t in NOT_MODELLED), *EXPLAINED.values()):
        plain = text.replace("'", "&#39;")
        assert plain in html, text
    assert "seed 7" in html
    assert "OurAirports" in html


def test_the_rest_of_the_answer_stands_under_what_it_is_about(html, comparison):
    at = 0
    for about, sentences in answer(comparison).parts:
        at = html.index(f'<p class="about">{about}</p>', at)
        for sentence in sentences:
            at = html.index(f"<p>{escape(sentence)}</p>", at)


def test_a_reason_is_told_with_its_margin(html):
    assert "1 person too many (5 for 4 seats)" in html
    assert re.search(r"\d+ lb of bags over what seats and bag places hold|\d+ lb over the take-off limit", html)


def test_what_the_study_changed_comes_first(comparison):
    used = influential_assumptions(comparison)
    assert (used[0].key, used[0].value.split()[0], used[0].source) == ("runway.margin", "1.6", "the study")
    assert len({u.key for u in used}) == len(used)


def test_assumptions_named_for_readers_exist():
    known = {a.key for a in packaged_assumptions()}
    named = {*ALWAYS, *(k for t in (BY_REASON, BY_GROUP) for keys in t.values() for k in keys)}
    assert named <= known, sorted(named - known)
    assert set(BY_GROUP) <= set(GROUPS)


def test_the_same_comparison_draws_the_same_figures(comparison):
    first, second = figures(comparison), figures(comparison)
    assert {n: p.svg for n, p in first.items()} == {n: p.svg for n, p in second.items()}


def test_figures_keep_text_as_text_and_carry_no_date(comparison):
    for p in figures(comparison).values():
        assert "<text" in p.svg
        assert "<metadata" not in p.svg
        assert len(p.svg) < 200_000


def test_without_kept_records_the_page_does_without_stories(comparison):
    bare = tuple(replace(r, tally=replace(r.tally, kept=None)) for r in comparison.results)
    text = report_html(replace(comparison, results=bare))
    assert "One trip at a time" not in text
    assert "What a year costs" in text


def test_users_settings_of_the_drawing_library_change_nothing(comparison):
    import matplotlib as mpl

    def draw(figure):
        figure.add_subplot().plot([0, 1], [0, 1], label="x")

    before = SvgFigure("x", "t", "c", "w", 2.0, draw).svg
    with mpl.rc_context({"svg.fonttype": "path", "lines.linewidth": 9, "svg.hashsalt": "other"}):
        assert SvgFigure("x", "t", "c", "w", 2.0, draw).svg == before
        assert mpl.rcParams["lines.linewidth"] == 9


def test_no_heading_ends_its_own_quotes():
    said = labels(("Trip", "Bags, lb", "it's \\ a \"name\";}</style>"))
    assert said == ("--h2:'Bags, lb';--h3:'it\\27 s \\5c  a \\22 name\\22 \\3b \\7d \\3c /style\\3e '")


def test_each_cell_of_a_stacked_table_has_its_heading(html):
    style = re.search("<style>(.*?)</style>", html, flags=re.S)[1]
    for table in re.findall(r'<table[^>]*class="[^"]*stack.*?</table>', html, flags=re.S):
        heads = len(re.findall("<th scope=.col", table))
        named = re.search(r"heads-\d+", table.split(">")[0])
        if named is None:
            assert "data-label" in table
        else:
            (said,) = re.findall(rf"\.{named[0]}{{(.*)}}", style)
            assert len(re.findall(r"--h\d+:", said)) == heads - 1


def test_tables_with_the_same_headings_share_them():
    headings = Headings()
    assert [headings.named(h) for h in (["A", "B"], ["A", "C"], ("A", "B"))] == ["heads-0", "heads-1", "heads-0"]
    assert headings.style() == ".heads-0{--h2:'B'}\n.heads-1{--h2:'C'}\n"


class Attributes(HTMLParser):
    """The names of the attributes of a page."""

    def __init__(self, text):
        super().__init__()
        self.names = set()
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.names |= {name for name, _ in attrs}

    @property
    def own(self):
        """Those by which an element carries style or action of its own."""
        return {name for name in self.names if name == "style" or name.startswith("on")}


def test_no_element_carries_its_own_style(html, comparison):
    assert Attributes("<p style='color: red'><a onclick=f()>").own == {"style", "onclick"}
    assert Attributes(html).own == set()
    for p in figures(comparison).values():
        assert Attributes(p.svg).own == set()
        assert "<style" not in p.svg


# Presentation attributes of SVG 2, section 6.6 (and SVG 1.1, section 6.1), of those that figures may use.
PRESENTATION = {"fill", "fill-opacity", "font-family", "font-size", "font-style", "font-weight", "opacity", "stroke",
                "stroke-dasharray", "stroke-dashoffset", "stroke-linecap", "stroke-linejoin", "stroke-miterlimit",
                "stroke-opacity", "stroke-width", "text-anchor", "clip-path", "transform"}
GEOMETRY = {"d", "x", "y", "width", "height", "viewbox", "xmlns", "href", "id", "role", "aria-label", "focusable",
            "patternunits", "class"}


def test_every_look_of_a_figure_is_one_that_svg_takes_as_an_attribute(comparison):
    for p in figures(comparison).values():
        assert Attributes(p.svg).names - PRESENTATION - GEOMETRY == set()
