"""The four steps of page 16: buttons that show where you are, and one to the next step, all usable by keyboard."""

from __future__ import annotations

from collections.abc import Sequence

import ipywidgets
import traitlets

from pondheat.show.elements import Element

_SCRIPT = """
function button(text) {
  const node = document.createElement("button");
  node.type = "button";
  node.textContent = text;
  node.setAttribute("data-lm-suppress-shortcuts", "true");
  return node;
}
function first(el) { // the first box of the step that is shown now
  const panel = el.closest(".ph-panel");
  return panel && [...panel.querySelectorAll(".ph-step input")].find(node => node.offsetParent);
}
function render({ model, el }) {
  const names = model.get("names"), trail = model.get("trail");
  let waiting = null;
  const go = (at, focus) => {
    const before = first(el), from = document.activeElement;
    model.set("at", at);
    model.save_changes();
    if (!focus) return;
    // Python shows the step, at once or when it has finished something else; by then the reader may have moved on.
    clearInterval(waiting);
    waiting = setInterval(() => {
      const now = first(el), idle = [from, document.body].includes(document.activeElement);
      if (idle && (!now || now === before)) return; // no step at all: between hiding one and showing the next
      clearInterval(waiting);
      if (idle) now?.focus();
    }, 50);
  };
  const box = document.createElement("div");
  if (trail) {
    const nav = document.createElement("nav");
    nav.setAttribute("aria-label", "Steps");
    nav.className = "ph-steps-trail";
    const buttons = names.map((name, at) => {
      const one = button(`${at + 1}  ${name}`);
      one.addEventListener("click", () => go(at, false));
      nav.append(one);
      return one;
    });
    const mark = () => buttons.forEach((one, at) => {
      if (at === model.get("at")) one.setAttribute("aria-current", "step"); else one.removeAttribute("aria-current");
    });
    model.on("change:at", mark);
    mark();
    box.append(nav);
  } else {
    const back = button("Back"), next = button("");
    back.addEventListener("click", () => go(model.get("at") - 1, true));
    next.addEventListener("click", () => go(model.get("at") + 1, true));
    const mark = () => {
      const at = model.get("at");
      back.hidden = at === 0;
      next.hidden = at + 1 === names.length;
      next.textContent = `Next: ${(names[at + 1] ?? "").toLowerCase()}`;
    };
    model.on("change:at", mark);
    mark();
    box.className = "ph-steps-turn";
    box.append(back, next);
  }
  el.append(box);
  return () => clearInterval(waiting);
}
export default { render };
"""


class StepButtons(Element):
    """Buttons to a step; observe `at`, counted from 0. trail: all steps in a row, otherwise only back and next."""

    _esm = _SCRIPT
    names: traitlets.List = traitlets.List().tag(sync=True)
    at = traitlets.Int(0).tag(sync=True)
    trail = traitlets.Bool(True).tag(sync=True)

    @traitlets.validate("at")
    def _one_of_them(self, proposal) -> int:
        return min(max(proposal["value"], 0), len(self.names) - 1)

    def __repr__(self) -> str:
        return f"Step {self.at + 1}: {self.names[self.at]}"


class Steps(ipywidgets.VBox):
    """Boxes of which one is shown at a time, with a row of step buttons above and back and next below."""

    def __init__(self, boxes: Sequence[tuple[str, ipywidgets.Box]]):
        names = [name for name, _ in boxes]
        self.boxes = [box.add_class("ph-step") for _, box in boxes]
        self.trail, self.turn = StepButtons(names=names), StepButtons(names=names, trail=False)
        self.link = traitlets.link((self.trail, "at"), (self.turn, "at"))
        self.trail.observe(lambda _: self._show(), "at")
        self._show()
        super().__init__([*self.boxes, self.turn])

    def _show(self) -> None:
        for at, box in enumerate(self.boxes):
            box.layout.display = "" if at == self.trail.at else "none"
