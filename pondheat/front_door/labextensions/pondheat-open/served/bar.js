/* The one bar over a page: contents, title, what Python and the file are doing, previous and next, text size,
   projector, and the way to the code. */

import { kept, keep } from "./remembered.js";
import { tellState } from "./told.js";

const TEXT_SIZE = "text-size";
const SIZES = [1, 1.15, 1.3, 1.5];
const CARDS = { "cards/weigh_the_heat.html": "Card: weigh the heat", "cards/cool_down_test.html": "Card: cool-down test",
  "cards/reading_by_hand.html": "Card: readings by hand" };

export function element(tag, more = {}, ...inside) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(more)) name in made ? made[name] = value : made.setAttribute(name, value);
  made.append(...inside);
  return made;
}
const spoken = path => path.replace(/^.*\//, "").replace(/\.[a-z]+$/, "").replace(/^(\d+)_/, "$1 ").replaceAll("_", " ");

/* The document on view. Lab itself knows of one only once its window has had the keys: a page that a command opened behind
   another window, in Firefox, hasn't had them yet. */
export const onView = shell => shell.currentWidget ?? [...shell.widgets("main")].find(one => one.isVisible) ?? null;

/* `pages`: the workbook's notebooks in their order; `known`: titles by path; `toggle` shows or hides the code. */
export function makeBar(app, Widget, pages, known, toggle) {
  const { shell, commands } = app;
  const titles = { "glossary.md": "Glossary", "tutor/for_the_tutor.ipynb": "For the tutor", ...CARDS };
  for (const path of pages) if (known[path]) titles[path] = `${path.slice(0, 2)} ${known[path]}`;
  const go = path => commands.execute("docmanager:open", { path });
  const button = (said, act, more = {}) => element("button", { type: "button", textContent: said, onclick: act, ...more });

  const skip = button("Skip to the page", () => {
    document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-WindowedPanel-outer, .jp-MarkdownViewer:not(.lm-mod-hidden)")?.focus();
  }, { className: "pondheat-skip" });
  const list = element("ul");
  const contents = element("details", { className: "pondheat-contents" }, element("summary", { textContent: "Contents" }), list);
  const link = path => element("li", {}, element("a", { href: "#", textContent: titles[path] ?? spoken(path),
    "data-path": path, onclick: event => { event.preventDefault(); contents.open = false; go(path); } }));
  const title = element("span", { className: "pondheat-title" });
  const told = element("span", { className: "pondheat-told", role: "status" });
  const reload = button("Reload", () => location.reload(), { hidden: true });
  const previous = button("", () => step(-1), { className: "pondheat-step" });
  const next = button("", () => step(1), { className: "pondheat-step" });
  const smaller = button("A−", () => resize(-1), { title: "Smaller text", "aria-label": "Smaller text" });
  const larger = button("A+", () => resize(1), { title: "Larger text", "aria-label": "Larger text" });
  const projector = button("Projector", () => window.dispatchEvent(new KeyboardEvent("keydown", { key: "F9" })),
    { title: "F9", "aria-keyshortcuts": "F9" });
  const print = button("Print", () => commands.execute("apputils:print"), { hidden: true });
  const code = button("Show the code", toggle, { title: "F8 or Alt+J", "aria-keyshortcuts": "F8 Alt+J" });
  const bar = new Widget({ node: element("nav", { "aria-label": "Workbook", tabIndex: -1 }, skip, contents, title, told, reload,
    previous, next, element("span", { className: "pondheat-sizes", role: "group", "aria-label": "Text size" }, smaller, larger),
    print, projector, code) });
  bar.id = "pondheat-bar"; // the shell takes no widget without an id

  function fill(more = []) {
    list.replaceChildren(...[...pages, ...more, "glossary.md", ...Object.keys(CARDS)].map(link));
  }
  fill();
  bar.node.addEventListener("keydown", event => {
    if (event.key === "Escape" && contents.open) { contents.open = false; contents.firstChild.focus(); }
  });
  document.addEventListener("pointerdown", event => { if (!contents.contains(event.target)) contents.open = false; });
  contents.addEventListener("focusout", event => { if (event.relatedTarget && !contents.contains(event.relatedTarget)) contents.open = false; });

  const at = () => pages.indexOf(onView(shell)?.context?.path);
  function step(by) { const path = pages[at() + by]; if (path) go(path); }

  /* ---- text size ---- */
  let size = Math.max(0, SIZES.indexOf(Number(kept(TEXT_SIZE))));
  function resize(by) {
    size = Math.max(0, Math.min(SIZES.length - 1, size + by));
    if (by) keep(TEXT_SIZE, String(SIZES[size]));
    document.body.style.setProperty("--pondheat-zoom", SIZES[size]);
    [smaller.disabled, larger.disabled] = [size === 0, size === SIZES.length - 1];
    if (by) window.dispatchEvent(new Event("resize")); // columns are chosen by the room that is left
    if (document.activeElement === document.body) (by < 0 ? larger : smaller).focus();
  }
  resize(0);

  /* ---- what is on view ---- */
  const heading = panel => /^# (.+)/m.exec(panel?.content?.model?.cells?.get(0)?.sharedModel.getSource() ?? "")?.[1];
  bar.label = (widget, codeShown) => {
    const path = widget?.context?.path ?? "", here = at();
    const name = heading(widget) ?? titles[path] ?? spoken(path);
    if (heading(widget) && here >= 0) titles[path] = `${path.slice(0, 2)} ${name}`;
    title.textContent = title.title = name;
    for (const [knob, by] of [[previous, -1], [next, 1]]) {
      const target = here < 0 ? undefined : pages[here + by];
      knob.hidden = here < 0;
      knob.disabled = !target;
      const word = by < 0 ? "Previous" : "Next";
      knob.replaceChildren(...(by < 0 ? ["‹ ", element("span", { textContent: word })] : [element("span", { textContent: word }), " ›"]));
      knob.setAttribute("aria-label", target ? `${word} page: ${titles[target] ?? spoken(target)}` : `${word} page`);
      knob.title = target ? titles[target] ?? spoken(target) : "";
    }
    fill(path.startsWith("tutor/") ? ["tutor/for_the_tutor.ipynb"] : []);
    list.querySelector(`[data-path="${CSS.escape(path)}"]`)?.setAttribute("aria-current", "page");
    code.textContent = codeShown ? "Hide the code" : "Show the code";
    const isNotebook = Boolean(widget && "sessionContext" in widget);
    print.hidden = isNotebook;
    projector.hidden = smaller.parentNode.hidden = code.hidden = !isNotebook;
    told.textContent = ""; // that of the page before
    reload.hidden = true;
    states.get(widget)?.();
  };
  const states = new WeakMap(); // a page -> what tells its state
  bar.follow = panel => states.set(panel, tellState(panel, (sentence, needsReload) => {
    if (onView(shell) !== panel) return;
    told.textContent = sentence;
    reload.hidden = !needsReload;
  }));
  return bar;
}
