/* A page for the projector: larger type, one part at a time, by keys alone. F9 begins and ends it, Page Down and Page Up
   turn the parts, also where a slider has the keys: a presenter's remote sends just these two. */

import { ROOM, STORY, arrange, groups } from "./layout.js";

const SAID = (at, count) => `Part ${at} of ${count}. Page Down: next. Page Up: back. F9: end.`;

/* A part is a heading with all that stands below it, up to the next heading; a panel and what to try with it are one.
   The title stands with the question that the page asks first, or else with the story of the pond: alone it would leave
   the screen empty. */
function parts(panel) {
  const cells = [...panel.content.widgets], found = [], beside = new Map();
  const asked = cells[groups(cells)[0]?.at]?.node.querySelector(".ph-predict");
  for (const { at, prompts } of groups(cells)) {
    beside.set(at, asked && !beside.size ? "belongs" : "begins");
    if (prompts >= 0) beside.set(prompts, "belongs");
  }
  let before; // what the cell before was to a panel
  cells.forEach((cell, at) => {
    if (!asked && found.length && STORY.includes(cell.model.id)) {
      found[0].push(cell.node);
      return;
    }
    const place = beside.get(at);
    const heading = cell.node.querySelector(".jp-RenderedMarkdown :is(h1, h2)");
    if (place !== "belongs" && (place || heading || before || !found.length)) found.push([]);
    found.at(-1).push(cell.node);
    before = place;
  });
  return found;
}
const isCode = node => node.classList.contains("jp-CodeCell");

const SLACK = 24; // pixels of margin that nobody needs to see
const LEAST = 120; // pixels of height below which a picture is not made smaller

export function projector(panel) {
  let shown = null; // the number of the part on view, null while the page is as usual
  const told = document.createElement("p");
  told.className = "pondheat-part";
  told.setAttribute("role", "status");

  /* The largest type that leaves room for a panel next to its prompts. */
  function enlarge(on) {
    document.body.classList.toggle("pondheat-projector", on);
    window.dispatchEvent(new Event("pondheat:projector"));
    if (on) panel.node.style.setProperty("--pondheat-zoom", Math.max(1.15, innerWidth / (ROOM + 16)));
    else panel.node.style.removeProperty("--pondheat-zoom");
    arrange(panel);
  }

  const scroller = () => panel.content.node.querySelector(".jp-WindowedPanel-outer") ?? panel.content.node;

  /* A part that is taller than the screen is gone through before the next one comes. */
  function turn(step) {
    const view = scroller();
    const [frame, cells] = [view.getBoundingClientRect(), parts(panel)[shown].map(node => node.getBoundingClientRect())];
    const left = step > 0 ? Math.max(...cells.map(cell => cell.bottom)) - frame.bottom + told.offsetHeight
      : frame.top - Math.min(...cells.map(cell => cell.top));
    if (left > SLACK) view.scrollBy(0, step * 0.8 * view.clientHeight);
    else show(shown + step);
  }

  /* Pictures take all that the rest of their panel leaves of the screen: the last row reads their labels, and the
     sentence below them is seen too. */
  function fit() {
    panel.node.style.removeProperty("--pondheat-figure");
    const [inPart] = parts(panel)[shown]?.filter(node => node.querySelector(".ph-panel")) ?? [];
    const seen = name => [...inPart?.querySelectorAll(`.ph-panel ${name}`) ?? []].filter(node => node.checkVisibility());
    const below = seen(".ph-sentence")[0]?.getBoundingClientRect().bottom;
    const pictures = seen(".ph-figure > svg").filter(picture => picture.getBoundingClientRect().bottom < below);
    if (!pictures.length || !below) return;
    const zoom = Number(panel.node.style.getPropertyValue("--pondheat-zoom")), view = scroller();
    const over = below + view.scrollTop - view.getBoundingClientRect().top - (view.clientHeight - told.offsetHeight - 8);
    const tallest = Math.max(...pictures.map(picture => picture.getBoundingClientRect().height));
    panel.node.style.setProperty("--pondheat-figure", `${Math.max(LEAST, (tallest - over / pictures.length) / zoom)}px`);
  }
  const room = new ResizeObserver(fit);

  function show(at) {
    const all = parts(panel);
    shown = Math.max(0, Math.min(at, all.length - 1));
    for (const { node } of panel.content.widgets) node.classList.toggle("pondheat-away", !all[shown].includes(node));
    told.textContent = SAID(shown + 1, all.length);
    room.disconnect();
    for (const node of [scroller(), ...all[shown]]) room.observe(node);
    scroller().scrollTo(0, 0);
    const inputs = all[shown].flatMap(node => [...node.querySelectorAll("input")]).filter(input => input.offsetParent && !input.closest("[inert]"));
    // Of a question and its panel, the question stands first; where there is something to look at, the panel.
    const looked = isCode(all[shown].find(node => !node.querySelector("h1")) ?? all[shown][0]) ? inputs.find(input => input.closest(".ph-panel")) : undefined;
    looked?.closest(".ph-predict, .ph-panel").scrollIntoView();
    const first = looked || inputs[0];
    if (first) first.focus({ preventScroll: true }); else document.activeElement?.blur();
  }

  function begin() {
    // Where the reader is: the first part that is still on view.
    const top = panel.content.node.getBoundingClientRect().top;
    const at = parts(panel).findIndex(cells => cells.at(-1).getBoundingClientRect().bottom > top + 40);
    document.body.append(told);
    enlarge(true);
    show(Math.max(at, 0));
  }

  function end() {
    const [node] = parts(panel)[shown];
    shown = null;
    room.disconnect();
    panel.node.style.removeProperty("--pondheat-figure");
    enlarge(false);
    told.remove();
    for (const cell of panel.content.widgets) cell.node.classList.remove("pondheat-away");
    node.scrollIntoView();
  }

  function key(event) {
    if (!panel.isVisible || event.altKey || event.ctrlKey || event.metaKey) return;
    const step = { PageDown: 1, PageUp: -1 }[event.key];
    if (event.key === "F9") { if (shown === null) begin(); else end(); }
    else if (shown !== null && step) turn(step);
    else return;
    event.preventDefault();
    event.stopImmediatePropagation();
  }
  window.addEventListener("keydown", key, true);
  panel.disposed.connect(() => {
    window.removeEventListener("keydown", key, true);
    room.disconnect();
    if (shown !== null) { shown = null; enlarge(false); told.remove(); }
  });
}
