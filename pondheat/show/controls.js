/* The workbook's own controls. Each has a name tied to what takes the keyboard, keeps Lab's shortcuts away from it,
   sends Python one message at a time and says so when Python does not answer. */

const GONE = "Python is not running this page. Reload the page to go on.";
const SILENT = "Python has not answered yet. If nothing changes, reload the page; " +
  "if that fails, start the workbook again.";
const PATIENCE = 4000; // milliseconds

/* Each widget loads this module anew, so a counter would repeat itself. */
const newId = () => `ph-${Math.random().toString(36).slice(2)}`;

function element(name, attributes = {}, ...children) {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  node.append(...children);
  return node;
}

/* Where keys belong to the control alone: Lab looks for this on the focused element itself. */
function input(attributes) {
  return element("input", { "data-lm-suppress-shortcuts": "true", autocomplete: "off", ...attributes });
}

/* One message under way at a time; of what happens meanwhile only the latest is sent on. `put` shows Python's value. */
function conversation(model, el, told, put) {
  const me = newId();
  let count = 0;
  let awaited = null;
  let next = null;
  let timer = null;

  const tell = sentence => { if (told.textContent !== sentence) told.textContent = sentence; };
  const settle = () => { clearTimeout(timer); awaited = null; };
  const gone = () => { settle(); next = null; put(); tell(GONE); };

  function send(message, bytes) {
    next = null; // an older one that still waits, after a long silence, must not follow this
    awaited = `${me}:${++count}`;
    timer = setTimeout(() => { awaited = null; tell(SILENT); }, PATIENCE);
    try { model.send({ ...message, asked: awaited }, undefined, bytes && [bytes]); } catch { gone(); }
  }
  model.on("change:seen", () => {
    if (model.get("seen") !== awaited && awaited !== null) return;
    settle();
    tell(model.get("says"));
    if (next === null) { put(); return; }
    send(...next);
  });
  model.on("change:value", () => { if (awaited === null) put(); });
  model.on("change:says", () => { if (awaited === null) tell(model.get("says")); });
  model.on("comm_live_update", () => setTimeout(() => { if (el.closest(".jupyter-widgets-disconnected")) gone(); }));
  tell(model.get("says"));
  return {
    say: (...message) => { if (awaited === null) send(...message); else next = message; },
    tell,
    close: () => clearTimeout(timer),
  };
}

/* Marks a control that holds a mistake, for eyes and for screen readers, or a value that is only a default. */
function marked(model, box, ...fields) {
  const mark = () => {
    box.classList.toggle("ph-invalid", model.get("invalid"));
    box.classList.toggle("ph-assumed", model.get("assumed"));
    for (const field of fields) field.setAttribute("aria-invalid", String(model.get("invalid")));
  };
  model.on("change:invalid", mark);
  model.on("change:assumed", mark);
  mark();
}

function slider(model, el) {
  const id = newId();
  const [least, most, step, digits, unit] = ["least", "most", "step", "digits", "unit"].map(name => model.get(name));
  const label = element("label", { for: id, id: `${id}-label` }, model.get("label"));
  const range = input({ type: "range", id, min: least, max: most, step });
  const field = input({ type: "text", inputmode: "decimal", spellcheck: "false",
    "aria-labelledby": `${id}-label ${id}-unit`, "aria-describedby": `${id}-told` });
  const told = element("p", { role: "status", id: `${id}-told` });
  const alternative = model.get("alt_unit"); // how to show the value in the reader's preferred unit, or empty
  const other = element("span", { class: "ph-beside" });
  el.append(element("div", { class: "ph-control" }, label,
    element("div", { class: "ph-line" }, range,
      element("span", { class: "ph-typed" }, field, element("span", { id: `${id}-unit` }, unit)), other), told));

  // As pondheat.units.digits writes it: commas in thousands, a true minus.
  const written = (value, places = digits) => {
    const [whole, part] = Math.abs(value).toFixed(places).split(".");
    const text = whole.replace(/\B(?=(\d{3})+$)/g, ",") + (part ? `.${part}` : "");
    return value < 0 && /[1-9]/.test(text) ? `−${text}` : text;
  };
  let settled = "";
  function show(value) {
    const typing = field.value !== settled; // what is being typed is not taken from under the fingers
    settled = written(value);
    if (!typing && field.value !== settled) {
      field.value = settled;
      if (document.activeElement === field) field.select(); // so that the next digits replace it
    }
    if (alternative.unit) {
      other.textContent = `${written(value * alternative.times + alternative.plus, alternative.digits)} ${alternative.unit}`;
    }
    range.setAttribute("aria-valuetext", `${settled} ${unit} ${other.textContent}`.trim());
    range.style.setProperty("--ph-filled", `${(100 * (value - least)) / (most - least)}%`);
  }
  const put = () => { range.value = model.get("value"); show(model.get("value")); };
  put();
  const { say, close } = conversation(model, el, told, put);

  range.addEventListener("input", () => { show(Number(range.value)); say({ value: Number(range.value) }); });
  const take = () => {
    if (field.value === settled) return;
    settled = field.value;
    say({ typed: field.value });
  };
  field.addEventListener("change", take);
  field.addEventListener("keydown", event => {
    if (event.key === "Enter") { event.preventDefault(); take(); field.select(); }
    if (event.key === "Escape") field.value = settled;
  });
  field.addEventListener("focus", () => field.select());
  return close;
}

function toggle(model, el) {
  const id = newId();
  const box = input({ type: "checkbox", role: "switch", id, "aria-describedby": `${id}-told` });
  const told = element("p", { role: "status", id: `${id}-told` });
  el.append(element("div", { class: "ph-control" },
    element("div", { class: "ph-option" }, box, element("label", { for: id }, model.get("label"))), told));
  const put = () => { box.checked = model.get("value"); };
  put();
  const { say, close } = conversation(model, el, told, put);
  box.addEventListener("change", () => say({ value: box.checked }));
  box.addEventListener("keydown", event => { if (event.key === "Enter") { event.preventDefault(); box.click(); } });
  return close;
}

function choice(model, el) {
  const id = newId();
  const told = element("p", { role: "status", id: `${id}-told` });
  const boxes = model.get("options").map(([key, text], at) => {
    const box = input({ type: "radio", name: id, id: `${id}-${at}`, value: key });
    // Not "change": one that is chosen already may be given too, by a click or by Enter.
    box.addEventListener("click", event => {
      say({ value: key });
      if (event.detail) putAway(); // by the mouse: the arrow keys, which choose too, may be on their way further down
    });
    box.addEventListener("keydown", event => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      box.click();
      putAway();
    });
    return [box, element("div", { class: "ph-option" }, box, element("label", { for: box.id }, text))];
  });
  // Folded, it is one line: the chosen option, and a button that shows the others again.
  const chosen = element("span");
  const unfold = element("button", { type: "button", "data-lm-suppress-shortcuts": "true", "aria-expanded": "false" }, "Choose again");
  const line = element("div", { class: "ph-line ph-chosen" }, chosen, unfold);
  const whole = element("fieldset", { class: "ph-control", "aria-describedby": told.id },
    element("legend", {}, model.get("label")), line, ...boxes.map(([, option]) => option), told);
  el.append(whole);
  marked(model, whole);
  const fold = folded => {
    whole.classList.toggle("ph-folded", folded);
    line.hidden = !folded;
    for (const [, option] of boxes) option.hidden = folded;
  };
  const put = () => {
    for (const [box] of boxes) box.checked = box.value === model.get("value");
    const [, text] = model.get("options").find(([key]) => key === model.get("value")) ?? [];
    chosen.textContent = text ?? "";
  };
  put();
  fold(model.get("folded"));
  model.on("change:folded", () => {
    fold(model.get("folded"));
    // What had the keys is hidden now, here or in the question after it.
    if (model.get("folded") && [document.body, null].includes(document.activeElement)) unfold.focus({ preventScroll: true });
  });
  // Chosen again, it is one line again.
  const putAway = () => {
    if (!model.get("folded")) return;
    fold(true);
    unfold.focus({ preventScroll: true });
  };
  unfold.addEventListener("click", () => {
    fold(false);
    (boxes.find(([box]) => box.checked) ?? boxes[0])[0].focus();
  });
  const { say, close } = conversation(model, el, told, put);
  return close;
}

/* A question with a box for the answer; what is typed travels inside the message, so Python never marks old text. */
function answer(model, el) {
  const id = newId();
  const question = element("p", { id: `${id}-question`, class: "ph-question" });
  const field = input({ type: "text", id, spellcheck: "false", "aria-describedby": `${id}-question ${id}-told` });
  const button = text => element("button", { type: "button", "data-lm-suppress-shortcuts": "true" }, text);
  const check = button("Check"), hint = button("Hint"), fresh = button("Fresh numbers");
  const told = element("p", { role: "status", id: `${id}-told`, class: "ph-told" });
  const hints = element("ol", { class: "ph-hints", "aria-label": "Hints" });
  el.append(element("div", { class: "ph-control ph-answer", role: "group", "aria-labelledby": `${id}-question` },
    question, element("div", { class: "ph-line" }, element("label", { for: id }, "Your answer"), field, check, hint, fresh),
    told, hints));

  const put = () => {
    question.textContent = model.get("label");
    hints.replaceChildren(...model.get("hints").map(text => element("li", {}, text)));
    hint.hidden = !model.get("more_hints");
    fresh.hidden = !model.get("may_renew");
  };
  put();
  const { say, close } = conversation(model, el, told, put);
  for (const name of ["label", "hints", "more_hints", "may_renew"]) model.on(`change:${name}`, put);
  const ask = () => say({ typed: field.value });
  check.addEventListener("click", ask);
  field.addEventListener("keydown", event => { if (event.key === "Enter") { event.preventDefault(); ask(); } });
  hint.addEventListener("click", () => say({ wants: "hint" }));
  fresh.addEventListener("click", () => { field.value = ""; say({ wants: "fresh" }); field.focus(); });
  return close;
}

function text(model, el) {
  const id = newId();
  const field = input({ type: "text", id, spellcheck: "false", "aria-describedby": `${id}-told` });
  const action = model.get("action");
  const button = element("button", { type: "button", "data-lm-suppress-shortcuts": "true" }, action);
  const told = element("p", { role: "status", id: `${id}-told` });
  field.value = model.get("value");
  const box = element("div", { class: "ph-control ph-text" }, element("label", { for: id }, model.get("label")),
    element("div", { class: "ph-line" }, field, ...(action ? [button] : [])), told);
  el.append(box);
  marked(model, box, field);
  let settled = field.value; // what is being typed is never taken away; what Python sets by itself takes the place of the old
  const put = () => {
    if (field.value === settled) field.value = model.get("value");
    settled = model.get("value");
  };
  const { say, close } = conversation(model, el, told, put);
  const take = () => { settled = field.value; say({ typed: field.value }); }; // Python may write it with its unit
  button.addEventListener("click", take);
  // A line of a form is given by leaving it. Not "change": that also comes after Enter has given the same.
  if (!action) field.addEventListener("blur", () => { if (field.value !== settled) take(); });
  field.addEventListener("keydown", event => { if (event.key === "Enter") { event.preventDefault(); take(); } });
  return close;
}

const LONGEST_FILM = 29000, PACE = 600; // milliseconds: of the whole film, and of one moment of a short one

/* Moments played one after the other. Python draws each; one that is late is left out, so the film ends in time. */
function film(model, el) {
  const id = newId();
  const moments = model.get("moments");
  const button = text => element("button", { type: "button", "data-lm-suppress-shortcuts": "true" }, text);
  const play = button("Play"), back = button("‹"), on = button("›");
  back.setAttribute("aria-label", "One back");
  on.setAttribute("aria-label", "One on");
  const range = input({ type: "range", id, min: 0, max: moments.length - 1, step: 1 });
  const told = element("p", { role: "status" });
  const name = element("span", { class: "ph-moment" });
  el.append(element("div", { class: "ph-control ph-film" }, element("label", { for: id }, model.get("label")),
    element("div", { class: "ph-line" }, play, back, on, range, name), told));
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  let at = model.get("value");
  let timer = null;
  let stopped = -Infinity;

  function show() {
    range.value = Math.max(at, 0);
    const text = at < 0 ? "" : moments[at];
    if (name.textContent !== text) name.textContent = text;
    range.setAttribute("aria-valuetext", text || "not playing");
    range.style.setProperty("--ph-filled", `${(100 * Math.max(at, 0)) / (moments.length - 1)}%`);
    play.textContent = timer !== null ? "Stop" : calm.matches ? "Next" : "Play";
  }
  const { say, close } = conversation(model, el, told, () => { if (timer === null) { at = model.get("value"); show(); } });
  const go = to => { at = Math.min(Math.max(to, 0), moments.length - 1); say({ value: at }); show(); };
  function stop() {
    clearInterval(timer);
    timer = null;
    document.removeEventListener("keydown", anyKey, true);
    show();
  }
  function anyKey(event) {
    event.preventDefault();
    event.stopPropagation();
    stopped = event.timeStamp;
    stop();
  }
  play.addEventListener("click", event => {
    if (event.timeStamp - stopped < 600) return; // the same key press that stopped it
    if (timer !== null) { stop(); return; }
    if (calm.matches) { go(at + 1 >= moments.length ? 0 : at + 1); return; }
    const pace = Math.min(PACE, LONGEST_FILM / moments.length);
    const first = at + 1 >= moments.length ? 0 : at + 1;
    const begun = performance.now();
    timer = setInterval(() => {
      const next = first + Math.floor((performance.now() - begun) / pace);
      if (next >= moments.length) { go(moments.length - 1); stop(); } else if (next > at || at === moments.length - 1) go(next);
    }, pace);
    document.addEventListener("keydown", anyKey, true);
    go(first);
  });
  back.addEventListener("click", () => { if (timer !== null) stop(); go(at - 1); });
  on.addEventListener("click", () => { if (timer !== null) stop(); go(at + 1); });
  range.addEventListener("input", () => { if (timer !== null) stop(); go(Number(range.value)); });
  show();
  return () => { stop(); close(); };
}

const PIECE = 4 * 1024 * 1024; // bytes; well below what one message to the server may hold

/* A file travels in pieces, each sent when Python has asked for it: so its size does not depend on the server's limit
   for one message, and how far it has come can be said. */
function file(model, el) {
  const id = newId();
  const field = input({ type: "file", id, "aria-describedby": `${id}-told` });
  const told = element("p", { role: "status", id: `${id}-told` });
  el.append(element("div", { class: "ph-control ph-file" }, element("label", { for: id }, model.get("label")),
    element("div", { class: "ph-line" }, field), told));
  let chosen = null;
  let sent = -1;
  const put = () => {
    const from = model.get("expects");
    if (chosen === null || from < 0 || from === sent) return; // nothing under way, or Python has not moved on
    sent = from;
    const from_file = chosen;
    from_file.slice(from, from + PIECE).arrayBuffer().then(
      bytes => { if (chosen === from_file) say({ at: from }, bytes); },
      () => { chosen = null; tell(`${from_file.name} cannot be read any more. Choose it once more.`); });
  };
  const { say, tell, close } = conversation(model, el, told, put);
  field.addEventListener("click", () => { field.value = ""; }); // so that the same file can be chosen again
  field.addEventListener("change", () => {
    chosen = field.files[0] ?? null;
    sent = -1;
    if (chosen) say({ name: chosen.name, size: chosen.size });
  });
  return close;
}

const KINDS = { slider, switch: toggle, choice, answer, text, file, film };

export default { render: ({ model, el }) => KINDS[model.get("kind")](model, el) };
