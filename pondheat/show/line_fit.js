/* A line through points, moved by a handle at either end, by pointer and by keys. Positions come from the numbers sent
   along; what the line says, its misses and what can be undone come from Python. */

const NAMES = ["Left end of your line", "Right end of your line"];
const COVERED = 2; // the stage with the covered nights
const KEYS = ["ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight", "PageUp", "PageDown", "Home", "End"];

function render({ model, el }) {
  const button = (look, text) => element("button", { type: "button", class: look, "data-lm-suppress-shortcuts": "true" }, text);
  const how = element("p");
  const picture = element("div"), said = element("div");
  const next = button("ph-next", model.get("action")), undo = button("ph-undo", "Undo");
  const fold = element("details", { class: "ph-fold" });
  const table = element("div");
  fold.append(element("summary", { "data-lm-suppress-shortcuts": "true" }, "The same as a table"), table);
  el.append(element("div", { class: "ph-fit" }, how, picture, element("div", { class: "ph-fit-foot" }, next, undo), said, fold));

  let ends = [...model.get("ends")];
  let parts = {};
  let dragging = false;

  const across = warmer => model.get("plot")[0] + model.get("plot")[2] * warmer / model.get("scale")[0];
  const up = used => { const [, top, , high] = model.get("plot"); return top + high * (1 - used / model.get("scale")[1]); };
  const at = warmer => {
    const [left, right] = model.get("handles");
    return ends[0] + (ends[1] - ends[0]) * (warmer - left) / (right - left);
  };
  const place = (node, values) => { for (const [key, value] of Object.entries(values)) node.setAttribute(key, value.toFixed(1)); };

  function put() {
    const handles = model.get("handles");
    place(parts.line, { x1: across(handles[0]), y1: up(ends[0]), x2: across(handles[1]), y2: up(ends[1]) });
    model.get("points").forEach(([warmer, used], each) => {
      place(parts.sticks[each], { x1: across(warmer), x2: across(warmer), y1: up(used), y2: up(at(warmer)) });
    });
    parts.ends.forEach((node, each) => {
      node.setAttribute("transform", `translate(${across(handles[each]).toFixed(1)} ${up(ends[each]).toFixed(1)})`);
      node.setAttribute("aria-valuenow", ends[each]);
      node.setAttribute("aria-valuetext", `${ends[each]} kWh with the water ${handles[each]} K warmer than the air`);
    });
  }

  function end(each) {
    const node = drawn("g", { class: "ph-end", role: "slider", tabindex: "0", "aria-label": NAMES[each],
      "aria-orientation": "vertical", "aria-valuemin": 0, "aria-valuemax": model.get("scale")[1],
      "data-lm-suppress-shortcuts": "true" },
      drawn("circle", { class: "ph-reach", r: 24 }), drawn("circle", { class: "ph-grip", r: 12 }),
      drawn("path", { d: "M-4,-2 L0,-6 L4,-2 M-4,2 L0,6 L4,2" }));
    node.addEventListener("pointerdown", event => {
      event.preventDefault();
      node.focus();
      node.setPointerCapture(event.pointerId);
      dragging = true;
      model.send({ grip: each });
      const follow = moved => {
        const svg = picture.querySelector("svg");
        const point = new DOMPoint(moved.clientX, moved.clientY).matrixTransform(svg.getScreenCTM().inverse());
        const [, top, , high] = model.get("plot");
        const most = model.get("scale")[1];
        ends[each] = Math.min(Math.max(Math.round(2 * most * (1 - (point.y - top) / high)) / 2, 0), most);
        put();
        model.set("ends", [...ends]);
        model.save_changes();
      };
      const done = () => {
        node.removeEventListener("pointermove", follow);
        dragging = false;
        model.send({ settled: each });
      };
      node.addEventListener("pointermove", follow);
      node.addEventListener("pointerup", done, { once: true });
      node.addEventListener("pointercancel", done, { once: true });
    });
    node.addEventListener("keydown", event => {
      if (event.key === "z" && (event.ctrlKey || event.metaKey)) { event.preventDefault(); undo.click(); return; }
      if (!KEYS.includes(event.key)) return;
      event.preventDefault();
      event.stopPropagation();
      model.send({ key: event.key, at: each });
    });
    return node;
  }

  function draw() {
    const focused = parts.ends?.indexOf(document.activeElement) ?? -1;
    picture.innerHTML = model.get("svg");
    parts = { line: drawn("line", { class: "ph-own" }), ends: [0, 1].map(end),
      sticks: model.get("points").map(() => drawn("line", { class: "ph-stick" })) };
    picture.querySelector(".ph-sticks").append(...parts.sticks);
    picture.querySelector(".ph-handles").append(parts.line, ...parts.ends);
    // With the covered nights in the picture the reader's line has done its work.
    const done = model.get("stage") === COVERED;
    for (const name of [".ph-sticks", ".ph-handles"]) picture.querySelector(name).style.display = done ? "none" : "";
    undo.hidden = done;
    put();
    if (focused >= 0 && !done) parts.ends[focused].focus();
  }
  const tell = () => {
    how.textContent = model.get("how");
    said.innerHTML = model.get("says");
    table.innerHTML = model.get("table");
    next.textContent = model.get("action");
    undo.disabled = !model.get("may_undo");
  };
  undo.addEventListener("click", () => model.send({ undo: true }));
  next.addEventListener("click", () => model.send({ next: true }));
  draw();
  tell();
  model.on("change:svg", draw);
  model.on("change:ends", () => {
    if (dragging) return;
    ends = [...model.get("ends")];
    put();
  });
  for (const name of ["how", "says", "table", "action", "may_undo"]) model.on(`change:${name}`, tell);
}

export default { render };
