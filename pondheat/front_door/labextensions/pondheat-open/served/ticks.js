/* The things to try beside a picture can be ticked off; the browser remembers the ticks, and the page stays as it is. */

import { kept, keep } from "./remembered.js";

const isPrompts = cell => cell.model.type === "markdown" && /^## (?:◆ )?Look\s*$/m.test(cell.model.sharedModel.getSource());
const followed = new WeakSet();

/* Give each line of the page's lists under “Look” a box to tick, also when Lab draws the text anew. */
export function tickable(panel) {
  for (const cell of panel.content.widgets) {
    if (followed.has(cell) || !isPrompts(cell)) continue;
    followed.add(cell);
    const add = () => addTicks(cell.node, `tick:${panel.context.path}:${cell.model.id}`);
    const drawn = new MutationObserver(add);
    drawn.observe(cell.node, { childList: true, subtree: true });
    cell.disposed.connect(() => drawn.disconnect());
    add();
  }
}

function addTicks(node, name) {
  [...node.querySelectorAll(".jp-RenderedMarkdown ol > li")].forEach((line, at) => {
    if (line.querySelector(".pondheat-tick")) return;
    const box = Object.assign(document.createElement("input"), { type: "checkbox", className: "pondheat-tick" });
    box.setAttribute("aria-label", `Tried: ${line.textContent.trim()}`);
    box.checked = kept(`${name}:${at}`) === "yes";
    box.addEventListener("change", () => keep(`${name}:${at}`, box.checked ? "yes" : "no"));
    line.prepend(box);
  });
}
