"""Sphinx settings of the manual: built offline, and read offline too."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from docutils import nodes
from docutils.utils.math.latex2mathml import tex2mathml
from sphinx.util.math import get_node_equation_number

import enginesim

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # for the lessons' pictures

if TYPE_CHECKING:
    from sphinx.application import Sphinx
    from sphinx.writers.html5 import HTML5Translator

project = "enginesim"
author = "The enginesim authors"
project_copyright = author
version = release = enginesim.__version__

extensions = ["myst_parser", "sphinx.ext.autodoc", "numpydoc", "docs.pictures.lessons"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["_build", "changelog.d"]
nitpicky = False  # numpydoc turns every word of a type into a link
numfig = True

myst_enable_extensions = ["dollarmath", "amsmath", "deflist", "colon_fence", "substitution"]
myst_heading_anchors = 3

autodoc_typehints = "none"  # the docstrings give the types, with shapes
numpydoc_show_class_members = False
autosummary_generate = False

html_theme = "furo"
html_title = f"enginesim {version}"
html_show_sourcelink = False
html_static_path = ["_static"]
html_css_files = ["equations.css"]
html_math_renderer = "mathml"


# Equations as MathML, which browsers draw by themselves: no script, and nothing from elsewhere.


# The converter reads the second digit of `\frac12` as part of the first, and hangs the index of
# an accented letter below it: braces make both clear.
BARE_FRACTION = re.compile(r"(\\[dt]?frac)\s*([0-9])\s*([0-9])")
ACCENT = re.compile(r"(\\(?:dot|ddot|bar|hat|tilde))(?:\{(\w)\}|\s+(\w))")


def mathml(tex: str, *, as_block: bool) -> str:
    tex = BARE_FRACTION.sub(r"\1{\2}{\3}", tex)
    return tex2mathml(ACCENT.sub(r"{{}\1{\2\3}}", tex), as_block=as_block)


def inline_equation(self: HTML5Translator, node: nodes.math) -> None:
    self.body.append(mathml(node.astext(), as_block=False))
    raise nodes.SkipNode


def display_equation(self: HTML5Translator, node: nodes.math_block) -> None:
    tex = node.astext()
    if r"\\" in tex and r"\begin" not in tex:
        tex = rf"\begin{{aligned}}{tex}\end{{aligned}}"
    self.body.append(self.starttag(node, "div", CLASS="math"))
    if node["number"]:
        self.body.append(f'<span class="eqno">({get_node_equation_number(self, node)})')
        self.add_permalink_ref(node, "Link to this equation")
        self.body.append("</span>")
    self.body.append(mathml(tex, as_block=True))
    self.body.append("</div>\n")
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, bool]:
    app.add_html_math_renderer("mathml", (inline_equation, None), (display_equation, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
