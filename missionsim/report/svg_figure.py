"""How figures look and how they become text: vector, readable in grey and by the colour-blind, the same every time."""

from __future__ import annotations

import io
import logging
import re
import textwrap
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, cached_property
from html import escape
from typing import TYPE_CHECKING, Any

from missionsim.base.parallel import Helpers

if TYPE_CHECKING:   # the library is imported by whoever draws, which may be another process
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_log = logging.getLogger(__name__)

INK, SOFT, RULE = "#1c2b33", "#4c5c66", "#ccd4d8"
WIDTH_IN = 5.2
"""Drawn so narrow that the words stay readable on a phone."""

COLOURS = ("#0b4f7a", "#d98200", "#3a8f5c", "#a64d9b", "#4aa3d8", "#8a5a2b", "#5c6670", "#b59a00")
CANDIDATES = ("#135df7", "#532d21", "#084249", "#bd148c", "#6d5f11", "#22815e")
"""Candidates as on the rest of the page; figures stand on white in any reader's setting."""
MARKERS = ("o", "s", "^", "D", "v", "P", "X", "p")
DASHES = ("-", "--", "-.", ":")
HATCHES = ("", "///", "..", "\\\\\\", "xx", "---", "++", "oo")

STYLE: dict[Any, Any] = {
    "svg.fonttype": "none", "text.parse_math": False,
    "font.family": ["sans-serif"], "font.sans-serif": ["DejaVu Sans"], "font.size": 9.5,
    "axes.edgecolor": SOFT, "axes.labelcolor": INK, "text.color": INK, "xtick.color": SOFT, "ytick.color": SOFT,
    "xtick.labelcolor": INK, "ytick.labelcolor": INK, "axes.spines.top": False, "axes.spines.right": False,
    "axes.grid": True, "axes.grid.axis": "x", "grid.color": RULE, "grid.linewidth": 0.6, "axes.axisbelow": True,
    "hatch.linewidth": 0.7, "legend.frameon": False, "legend.fontsize": 9, "axes.unicode_minus": True,
    "figure.facecolor": "white", "axes.facecolor": "white", "path.simplify": True, "axes.titlesize": 10,
}


@dataclass(frozen=True)
class SvgFigure:
    """One figure; drawn when its text is first asked for, or by a process that was asked before, see `drawn_beside`.

    Parameters
    ----------
    name : str         Short, for file names and identifiers.
    title : str
    caption : str      How to read it.
    words : str        The same in words, for those who cannot see it.
    height_in : float
    draw : callable    Is given an empty figure. What it refers to goes to another process with it: little and plain.
    """

    name: str
    title: str
    caption: str
    words: str
    height_in: float
    draw: Callable[[Figure], None]

    @cached_property
    def svg(self) -> str:
        """One `svg` element."""
        from matplotlib.backends.backend_svg import FigureCanvasSVG  # noqa: PLC0415
        from matplotlib.figure import Figure  # noqa: PLC0415
        with drawing(self.name):
            figure = Figure(figsize=(WIDTH_IN, self.height_in), layout="constrained")
            FigureCanvasSVG(figure)
            out = io.StringIO()
            with _letters_missing_said_once():
                self.draw(figure)
                figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
        return _inline(out.getvalue(), self.name, self.words)


def drawn_beside(figures: Sequence[SvgFigure], helpers: Helpers) -> Callable[[], None]:
    """Have figures drawn beside whatever else goes on; call what is returned, once, before their text is asked for."""
    texts = helpers.beside(_texts, tuple(figures))

    def done() -> None:
        for figure, text in zip(figures, texts(), strict=True):
            vars(figure)["svg"] = text      # where the property keeps what it found
    return done


def _texts(_: object, figures: Sequence[SvgFigure]) -> list[str]:
    return [figure.svg for figure in figures]


@contextmanager
def drawing(name: str) -> Iterator[None]:
    """Draw in this program's style, whatever the user's own settings are; identifiers depend on the name alone."""
    import matplotlib as mpl  # noqa: PLC0415
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(STYLE)
        mpl.rcParams["svg.hashsalt"] = f"missionsim-{name}"
        yield


@contextmanager
def _letters_missing_said_once() -> Iterator[None]:
    """Turn the warning of each letter that the font lacks into one line a run; other warnings stay."""
    with warnings.catch_warnings(record=True) as said:
        warnings.filterwarnings("always", message="Glyph")
        yield
    for one in said:
        if not str(one.message).startswith("Glyph"):
            warnings.warn_explicit(one.message, one.category, one.filename, one.lineno)
    if any(str(one.message).startswith("Glyph") for one in said):
        _letters_missing()


@cache
def _letters_missing() -> None:
    """Say once that letters are drawn by whatever font the reader has."""
    _log.warning("Some letters are missing from the font figures are measured with; whoever opens them sees their own "
                 "font, and a name may run over its neighbours.")


def _inline(text: str, name: str, words: str) -> str:
    """Return one `svg` element that can stand in a page beside others: own identifiers, no size, a text for all."""
    body = text[text.index("<svg"):]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.S)
    view = re.search(r'viewBox="([^"]+)"', body)
    assert view is not None
    body = body[body.index(">") + 1:body.rindex("</svg>")]
    body = re.sub(r'\b(id=")', rf"\1{name}-", body)
    body = re.sub(r"(url\(#|xlink:href=\"#)", rf"\1{name}-", body)
    body = re.sub(r"xlink:href", "href", body)
    body = re.sub(r"'DejaVu Sans'(, )?", "", body)
    body = re.sub(r"<!--.*?-->\s*", "", body, flags=re.S)
    body = re.sub(r"<style.*?</style>\s*", "", body, flags=re.S)     # would hold for the whole page; see the head
    body = re.sub(r"(-?\d+\.\d)\d+", r"\1", body)
    body = _compact(re.sub(r"\n\s*", "\n", body))
    body = re.sub(r' style="([^"]*)"', _attributes, body)
    head = (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view[1]}" role="img" '
            'stroke-linejoin="round" stroke-linecap="butt" font-family="sans-serif" '
            f'aria-label="{escape(words)}" focusable="false">')
    return head + body + "</svg>"


_INHERITED = frozenset({"font-family: sans-serif", "stroke-dashoffset: 0"})
_FONT = re.compile(r"(?:(italic|oblique) )?(?:(bold|\d{3}) )?([\d.]+px) (.+)")
_FONT_PARTS = ("font-style", "font-weight", "font-size", "font-family")


def _attributes(found: re.Match[str]) -> str:
    """Return a look as attributes, which mean the same: a page whose policy knows its styles takes no `style`."""
    said = [line for pair in found[1].rstrip("; ").split("; ") for line in _longhand(pair) if line not in _INHERITED]
    return "".join(f' {name}="{value}"' for name, value in (line.split(": ", 1) for line in said))


def _longhand(pair: str) -> list[str]:
    """Return the one property that is no attribute, `font` of older drawing libraries, as those that are."""
    if not pair.startswith("font: "):
        return [pair]
    font = _FONT.fullmatch(pair.removeprefix("font: "))
    values = (None,) * 4 if font is None else font.groups()
    return [f"{name}: {value}" for name, value in zip(_FONT_PARTS, values, strict=True) if value]


_PATH = re.compile(r'<path d="(M[^"]*)"((?: (?:clip-path|style)="[^"]*")*)/>')
_BEGIN = re.compile(r"\s*([A-Za-z])\s*")


def _compact(body: str) -> str:
    """Return the same picture in fewer bytes: no names of groups, short path data, alike neighbours as one path."""
    body = re.sub(r'<g id="[^"]*"', "<g", body)
    body = re.sub(r"(-?\d+)\.0\b", r"\1", body)
    body = re.sub(r' transform="rotate\(-0 [^)]*\)"', "", body)
    body = re.sub(r'(?<= d=")[^"]*', lambda found: _straight(_BEGIN.sub(r"\1", " ".join(found[0].split()))), body)
    for _ in range(3):     # groups inside groups
        body = re.sub(r"<g>\s*(<(?:path|use|text)[^<>]*(?:/>|>[^<>]*</text>))\s*</g>", r"\1", body)
    return _LIKE.sub(_look_once, _merged(re.sub(r">\n<", "><", body)))


_STEP = re.compile(r"([A-Za-z])([^A-Za-z]*)")
_LIKE = re.compile(r'<(?:use|text) [^<>]*style="([^"]*)"[^<>]*(?:/>|>[^<>]*</text>)'
                   r'(?:<(?:use|text) [^<>]*style="\1"[^<>]*(?:/>|>[^<>]*</text>)){2,}')


def _straight(data: str) -> str:
    """Return path data with steps along one axis told by one number."""
    out, at = [], ("", "")
    for letter, numbers in _STEP.findall(data):
        to = tuple(numbers.split())
        if letter == "L" and len(to) == 2 and at[0] == to[0]:
            out.append(f"V{to[1]}")
        elif letter == "L" and len(to) == 2 and at[1] == to[1]:
            out.append(f"H{to[0]}")
        else:
            out.append(letter + numbers.strip())
        at = (to[-2], to[-1]) if letter in "MLC" and len(to) > 1 else ("", "")
    return "".join(out)


def _look_once(found: re.Match[str]) -> str:
    """Say the look of neighbours that look alike once."""
    look_ = f' style="{found[1]}"'
    return f"<g{look_}>{found[0].replace(look_, '')}</g>"


def _merged(body: str) -> str:
    """Join paths that follow each other and look alike; ink that covers lies as before."""
    pieces: list[tuple[str, str, str]] = []      # what stands before, data, look
    end = 0
    for found in _PATH.finditer(body):
        between = body[end:found.start()].strip()
        if pieces and not between and pieces[-1][2] == found[2]:
            before, data, look_ = pieces[-1]
            pieces[-1] = (before, data + found[1], look_)
        else:
            pieces.append((between, found[1], found[2]))
        end = found.end()
    return "".join(f'{before}<path d="{data}"{style}/>' for before, data, style in pieces) + body[end:]


def wrapped(name: str, width: int = 18, lines: int = 3) -> str:
    """Return a name on a few short lines."""
    shown = f" {name}" if name.startswith("_") else name  # a leading stroke would leave it out of the key
    return "\n".join(textwrap.wrap(shown, width)[:lines]) or name


def names_on_y(axes: Axes, names: list[str], width: int = 18) -> None:
    """Write names down the y axis, the first on top."""
    axes.set_yticks(range(len(names)), [""] * len(names))
    axes.set_ylim(max(len(names), 1) - 0.5, -0.5)
    axes.tick_params(axis="y", length=0)
    for i, name in enumerate(names):
        # Line by line, so that they end alike whatever font the reader has.
        lines = wrapped(name, width, 4 if width > 18 else 3).split("\n")
        for j, line in enumerate(lines):
            axes.annotate(line, (0, i), xycoords=("axes fraction", "data"), ha="right", va="center",
                          xytext=(-6, 11.5 * ((len(lines) - 1) / 2 - j)), textcoords="offset points", fontsize=9,
                          annotation_clip=False)


def key_below(figure: Figure, axes: Axes, columns: int = 2) -> None:
    """Put the key under a figure, where it costs no width."""
    handles, labels = axes.get_legend_handles_labels()
    figure.legend(handles, labels, loc="outside lower center", ncols=columns, handlelength=2.2, columnspacing=1.4)


def key_in(entries: int, columns: int = 2) -> float:
    """Return the height a key takes below a figure, beyond its first two rows. [in]"""
    return 0.22 * max(0, -(-entries // columns) - 2)


def look(i: int) -> dict[str, Any]:
    """Return colour, marker and dash of the i-th candidate: three ways to tell it apart, one without colour."""
    return {"color": CANDIDATES[i % len(CANDIDATES)], "marker": MARKERS[i % len(MARKERS)],
            "linestyle": DASHES[i % len(DASHES)]}
