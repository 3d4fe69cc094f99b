"""What is on a printed page, read back from its PDF by another program (pypdfium2)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pypdfium2

#: Names that would be something else in a page's source, or do not break anywhere.
MARKUP = "#let x = 1 *b* _i_ $y$ @z `r` <l> \\ // [c] = h - l + ~ 'q' \"q\" #panic()"
UNBROKEN = "Regional_schoolshop_engine_with_a_name_of_sixty_letters_v2.0"
WIDE = "W" * 60
NARROW = "W" * 26  # a word that may still stand unbroken
NAMES = (MARKUP, UNBROKEN, WIDE, NARROW)

# Parts of a letter's box over which another one lies. Neighbors touch: "f" leans over its next.
_OVERLAP = 0.25
_TALLEST = 20.0  # of a letter [pt]
_UNSEEN = "\u200b\r\n"


def squeezed(text: str) -> str:
    """Without all that depends on where lines are broken, and with the signs of the screen."""
    for sign, plain in {"\u2212": "-", "\u00b1": "+-", "\u2192": "->", "\x02": "-"}.items():
        text = text.replace(sign, plain)
    return re.sub(r"[\s\u00a0\u200b\ufffe]+", "", text)


@dataclass(frozen=True)
class Paper:
    """A PDF."""

    content: bytes

    @cached_property
    def _pages(self) -> list[pypdfium2.PdfPage]:
        document = pypdfium2.PdfDocument(self.content)
        return [document[i] for i in range(len(document))]

    @property
    def sizes(self) -> list[tuple[float, float]]:
        """Width and height of each sheet [in]."""
        return [(page.get_width() / 72, page.get_height() / 72) for page in self._pages]

    @cached_property
    def text(self) -> str:
        """All words that are no part of a chart, squeezed."""
        return squeezed("".join(page.get_textpage().get_text_range() for page in self._pages))

    @cached_property
    def boxes(self) -> list[np.ndarray]:
        """Left, bottom, right, top of every letter of each sheet [pt]."""
        found = []
        for page in self._pages:
            text = page.get_textpage()
            seen = [i for i, letter in enumerate(text.get_text_range()) if letter not in _UNSEEN]
            boxes = np.array([text.get_charbox(i) for i in seen]).reshape(len(seen), 4)
            found.append(boxes[(boxes[:, 2] > boxes[:, 0]) & (boxes[:, 3] > boxes[:, 1])])
        return found

    def outside(self, margin: float) -> int:
        """Letters nearer to an edge of the paper than that [in], or beyond it."""
        n = 0
        for (width, height), boxes in zip(self.sizes, self.boxes, strict=True):
            low, right, top = 72 * margin, 72 * (width - margin), 72 * (height - margin)
            is_in = (
                (boxes[:, :2] >= low).all(axis=1) & (boxes[:, 2] <= right) & (boxes[:, 3] <= top)
            )
            n += int((~is_in).sum())
        return n

    def overlaps(self) -> int:
        """Pairs of letters of which one lies on the other."""
        n = 0
        for boxes in self.boxes:
            left, bottom, right, top = boxes[np.argsort(boxes[:, 1])].T
            area = (right - left) * (top - bottom)
            for apart in range(1, len(boxes)):  # from each to the one that many places above it
                high = np.minimum(top[apart:], top[:-apart]) - bottom[apart:]
                if not np.any(bottom[apart:] < bottom[:-apart] + _TALLEST):
                    break
                wide = np.minimum(right[apart:], right[:-apart]) - np.maximum(
                    left[apart:], left[:-apart]
                )
                shared = np.clip(wide, 0, None) * np.clip(high, 0, None)
                n += int((shared > _OVERLAP * np.minimum(area[apart:], area[:-apart])).sum())
        return n
