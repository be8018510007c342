/* The cover as a frame over a season's carpet. Each edge is a slider, by pointer and by keys; what it saves comes from
   Python, what lies under the pointer from the values sent along. */

const NOON = 12, HOURS = 24;

const clock = hour => `${String(hour % 24).padStart(2, "0")}:00`;
const plain = value => Math.round(value).toLocaleString("en-GB");

/* first and last day, hours on and off: which place of the frame, its name, along which axis, and which end it is. */
const EDGES = [
  { at: 0, name: "First day of the cover", across: true, far: false },
  { at: 1, name: "Last day of the cover", across: true, far: true },
  { at: 2, name: "Cover on at", across: false, far: false },
  { at: 3, name: "Cover off at", across: false, far: true },
];

function render({ model, el }) {
  const picture = element("div");
  const undo = element("button", { type: "button", "data-lm-suppress-shortcuts": "true" }, "Undo");
  const reading = element("p", { class: "ph-reading", role: "status" });
  const said = element("div");
  const fold = element("details", { class: "ph-fold" });
  const summary = element("summary", { "data-lm-suppress-shortcuts": "true" }, "The same as a table");
  const table = element("div");
  fold.append(summary, table);
  el.append(element("div", { class: "ph-carpet" }, picture,
    element("div", { class: "ph-carpet-foot" }, undo, reading), said, fold));

  const past = [];
  let frame = [...model.get("frame")];
  let values = null;
  let parts = {};
  let looked = null; // the cell the reader looks at: [day, hour]

  const days = () => model.get("days");
  const limits = at => [[0, frame[1]], [frame[0], days().length - 1], [NOON, frame[3]], [frame[2], NOON + HOURS]][at];
  const spoken = at => (at < 2 ? days()[frame[at]] : clock(frame[at]));
  const place = () => {
    const [left, top, wide, high] = model.get("plot");
    return { left, top, wide, high, day: wide / days().length, hour: high / HOURS };
  };

  function put() {
    const { left, top, day, hour } = place();
    const box = { x: left + frame[0] * day, y: top + (frame[2] - NOON) * hour,
      width: (frame[1] + 1 - frame[0]) * day, height: (frame[3] - frame[2]) * hour };
    for (const part of [parts.clip, parts.dark, parts.light]) {
      for (const [key, value] of Object.entries(box)) part.setAttribute(key, value.toFixed(2));
    }
    for (const { at, across, far } of EDGES) {
      const node = parts.edges[at];
      const x = across ? box.x + (far ? box.width : 0) : box.x + box.width / 2;
      const y = across ? box.y + box.height / 2 : box.y + (far ? box.height : 0);
      node.setAttribute("transform", `translate(${x.toFixed(2)} ${y.toFixed(2)})`);
      const half = (across ? box.height : box.width) / 2;
      const line = across ? { x1: 0, x2: 0, y1: -half, y2: half } : { x1: -half, x2: half, y1: 0, y2: 0 };
      for (const [key, value] of Object.entries(line)) node.querySelector(".ph-line").setAttribute(key, value.toFixed(1));
      const reach = node.querySelector(".ph-reach");
      const wide = across ? 28 : Math.max(2 * half - 40, 28), tall = across ? Math.max(2 * half - 20, 28) : 28;
      for (const [key, value] of Object.entries({ x: -wide / 2, y: -tall / 2, width: wide, height: tall })) {
        reach.setAttribute(key, value.toFixed(1));
      }
      const [low, high] = limits(at);
      node.setAttribute("aria-valuemin", low);
      node.setAttribute("aria-valuemax", high);
      node.setAttribute("aria-valuenow", frame[at]);
      node.setAttribute("aria-valuetext", spoken(at));
      const label = node.querySelector("text");
      label.textContent = at < 2 ? "" : `${far ? "off" : "on"} ${clock(frame[at])}`;
    }
    undo.disabled = past.length === 0;
  }

  function send() {
    model.set("frame", [...frame]);
    model.save_changes();
  }
  function remember() { past.push([...frame]); if (past.length > 100) past.shift(); }
  function set(at, value) {
    const [low, high] = limits(at);
    const wanted = Math.min(Math.max(Math.round(value), low), high);
    if (wanted === frame[at]) return false;
    frame[at] = wanted;
    put();
    send();
    return true;
  }
  undo.addEventListener("click", () => {
    if (!past.length) return;
    frame = past.pop();
    put();
    send();
  });

  function look(day, hour) {
    const { left, top, day: wide, hour: high } = place();
    const count = days().length;
    looked = [Math.min(Math.max(day, 0), count - 1), Math.min(Math.max(hour, 0), HOURS - 1)];
    const cell = looked[1] * count + looked[0];
    parts.cross.setAttribute("d", `M${left + looked[0] * wide - 2},${top + looked[1] * high} h${wide + 4} v${high} h${-wide - 4} Z`);
    const next = looked[1] >= HOURS - NOON ? Math.min(looked[0] + 1, count - 1) : looked[0];
    reading.textContent = `${days()[next]}, ${clock(NOON + looked[1])}: open ${plain(values[cell])} W, ` +
      `covered ${plain(values[count * HOURS + cell])} W`;
  }

  function pointAt(event) {
    const svg = picture.querySelector("svg");
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const { left, top, day, hour } = place();
    return [(point.x - left) / day, (point.y - top) / hour];
  }

  function edge({ at, name, across }) {
    const node = drawn("g", { class: `ph-edge ${across ? "ph-sideways" : "ph-upright"}`, role: "slider", tabindex: "0",
      "aria-label": name, "aria-orientation": across ? "horizontal" : "vertical", "data-lm-suppress-shortcuts": "true" },
      drawn("line", { class: "ph-line" }), drawn("rect", { class: "ph-reach" }),
      drawn("rect", { class: "ph-grip", x: across ? -5 : -13, y: across ? -13 : -5,
        width: across ? 10 : 26, height: across ? 26 : 10, rx: 4 }),
      drawn("text", { x: 20, y: at === 3 ? 19 : -8 }));
    node.addEventListener("pointerdown", event => {
      event.preventDefault();
      node.focus();
      node.setPointerCapture(event.pointerId);
      remember();
      const before = frame[at];
      const follow = moved => {
        const [day, hour] = pointAt(moved);
        set(at, across ? (at === 1 ? day - 1 : day) : hour + NOON);
      };
      const end = () => {
        node.removeEventListener("pointermove", follow);
        if (frame[at] === before) past.pop();
        put();
      };
      node.addEventListener("pointermove", follow);
      node.addEventListener("pointerup", end, { once: true });
      node.addEventListener("pointercancel", end, { once: true });
    });
    node.addEventListener("keydown", event => {
      const far = at < 2 ? 30 : 3;
      const step = { ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1, PageUp: -far, PageDown: far,
        Home: -1e6, End: 1e6 }[event.key];
      if (event.key === "z" && (event.ctrlKey || event.metaKey)) { event.preventDefault(); undo.click(); return; }
      if (step === undefined) return;
      event.preventDefault();
      event.stopPropagation();
      remember();
      if (!set(at, frame[at] + step)) past.pop();
      put();
    });
    return node;
  }

  function draw() {
    const focused = parts.edges?.indexOf(document.activeElement) ?? -1;
    picture.innerHTML = model.get("svg");
    const { left, top, wide, high } = place();
    const home = picture.querySelector(".ph-handles");
    parts = { clip: picture.querySelector(".ph-clip"), dark: drawn("rect", { class: "ph-outline-dark" }),
      light: drawn("rect", { class: "ph-outline" }), cross: drawn("path", { class: "ph-cross" }),
      edges: EDGES.map(edge) };
    const sheet = drawn("rect", { class: "ph-look", x: left, y: top, width: wide, height: high, fill: "transparent",
      tabindex: "0", role: "img", "data-lm-suppress-shortcuts": "true",
      "aria-label": "Heat lost in each hour of the season. Arrow keys read one hour." });
    sheet.addEventListener("pointermove", event => look(...pointAt(event).map(Math.floor)));
    sheet.addEventListener("keydown", event => {
      const [across, down] = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key] ?? [];
      if (across === undefined) return;
      event.preventDefault();
      event.stopPropagation();
      const [day, hour] = looked ?? [0, 0];
      look(day + across, hour + down);
    });
    home.append(sheet, parts.dark, parts.light, parts.cross, ...parts.edges);
    const bytes = model.get("watts");
    values = new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
    put();
    if (focused >= 0) parts.edges[focused].focus();
  }
  const tell = () => { said.innerHTML = model.get("says"); table.innerHTML = model.get("table"); };
  const follow = () => {
    const theirs = model.get("frame");
    if (theirs.every((value, at) => value === frame[at])) return;
    frame = [...theirs];
    put();
  };
  draw();
  tell();
  model.on("change:svg", draw);
  model.on("change:frame", follow);
  model.on("change:says", tell);
  model.on("change:table", tell);
}

export default { render };
