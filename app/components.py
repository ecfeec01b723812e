"""Two small components of our own: slide between two pictures, and click points on a picture.

Nothing is fetched; pictures travel as data addresses.
"""

from __future__ import annotations

from base64 import b64encode
from functools import cache
from typing import Any

import streamlit as st

SLIDER_CSS = """
.pair { position: relative; display: grid; border-radius: .5rem; overflow: hidden; }
.pair img { grid-area: 1 / 1; width: 100%; display: block; }
.pair img.after { clip-path: inset(0 0 0 var(--at, 50%)); }
.pair span { position: absolute; top: .4rem; padding: .1rem .5rem; border-radius: .4rem;
  background: rgba(20, 28, 25, .72); color: #fff; font: .85rem sans-serif; }
.pair span.right { right: .4rem; } .pair span.left { left: .4rem; }
input[type=range] { width: 100%; min-height: 2.75rem; accent-color: #1f5f4d; }
"""

SLIDER_JS = """
export default function ({ parentElement, data }) {
  const root = parentElement.querySelector(".slide");
  const [before, after] = root.querySelectorAll("img");
  before.src = data.before;
  after.src = data.after;
  before.alt = data.before_words;
  after.alt = data.after_words;
  root.querySelector(".left").textContent = data.before_words;
  root.querySelector(".right").textContent = data.after_words;
  const range = root.querySelector("input");
  const words = "Slide between " + data.before_words + " and " + data.after_words;
  range.setAttribute("aria-label", words);
  const move = () => root.querySelector(".pair").style.setProperty("--at", range.value + "%");
  range.oninput = move;
  move();
}
"""

SLIDER_HTML = (
    '<div class="slide"><div class="pair"><img><img class="after"><span class="left"></span>'
    '<span class="right"></span></div><input type="range" min="0" max="100" value="50"></div>'
)

CLICK_CSS = """
.pick { position: relative; cursor: crosshair; }
.pick img { width: 100%; display: block; border-radius: .5rem; }
.pick svg { position: absolute; inset: 0; width: 100%; height: 100%; pointer-events: none; }
"""

CLICK_JS = """
export default function ({ parentElement, data, setStateValue }) {
  const root = parentElement.querySelector(".pick");
  const img = root.querySelector("img");
  const svg = root.querySelector("svg");
  img.src = data.picture;
  img.alt = data.words;
  const draw = () => {
    svg.setAttribute("viewBox", "0 0 " + img.naturalWidth + " " + img.naturalHeight);
    svg.replaceChildren();
    const size = img.naturalWidth / 90;
    data.points.forEach(([x, y], at) => {
      const dot = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      dot.setAttribute("cx", x);
      dot.setAttribute("cy", y);
      dot.setAttribute("r", size);
      dot.setAttribute("fill", at < 4 ? "#1f5f4d" : "#b4512c");
      dot.setAttribute("stroke", "#ffffff");
      dot.setAttribute("stroke-width", size / 3);
      svg.append(dot);
    });
  };
  img.onload = draw;
  if (img.complete) draw();
  img.onclick = (event) => {
    const box = img.getBoundingClientRect();
    setStateValue("point", [
      ((event.clientX - box.left) * img.naturalWidth) / box.width,
      ((event.clientY - box.top) * img.naturalHeight) / box.height,
      Date.now(),
    ]);
  };
}
"""


@cache
def _slider() -> Any:
    return st.components.v2.component(
        "before_after", html=SLIDER_HTML, css=SLIDER_CSS, js=SLIDER_JS
    )


@cache
def _clicks() -> Any:
    return st.components.v2.component(
        "click_points",
        html='<div class="pick"><img><svg aria-hidden="true"></svg></div>',
        css=CLICK_CSS,
        js=CLICK_JS,
    )


def before_after(before: bytes, after: bytes, words: tuple[str, str], key: str) -> None:
    """Slide between two JPEGs of one size; ``words`` name the left and the right one."""
    data = {
        "before": _address(before),
        "after": _address(after),
        "before_words": words[0],
        "after_words": words[1],
    }
    _slider()(key=key, data=data)


def clicked_point(
    picture: bytes, points: list[tuple[float, float]], words: str, key: str
) -> tuple[float, float, float] | None:
    """The last click on a JPEG as (x, y, time) in the picture's own pixels; None before the first.

    ``points`` are drawn on it, the first four apart from the rest.
    """
    result = _clicks()(
        key=key,
        data={"picture": _address(picture), "points": points, "words": words},
        default={"point": None},
        on_point_change=lambda: None,
    )
    point = result.point
    return None if point is None else (float(point[0]), float(point[1]), float(point[2]))


def _address(jpeg: bytes) -> str:
    return "data:image/jpeg;base64," + b64encode(jpeg).decode("ascii")
