/* A page for the projector: larger type, one part at a time, by keys alone. F9 begins and ends it, Page Down and Page Up
   turn the parts, also where a slider has the keys: a presenter's remote sends just these two. */

const SAID = (at, count) => `Part ${at} of ${count}. Page Down: on. Page Up: back. F9: end.`;

/* A part is a heading with all that stands below it, up to the next heading. What is to be looked for is shown with the
   panel to look at, which stands in the part before. */
function parts(panel) {
  const found = [];
  for (const { node } of panel.content.widgets) {
    const heading = node.querySelector(".jp-RenderedMarkdown :is(h1, h2)");
    if (heading && /Look/.test(heading.textContent) && found.length) found.push(found.at(-1).filter(isCode));
    else if (heading || !found.length) found.push([]);
    found.at(-1).push(node);
  }
  return found;
}
const isCode = node => node.classList.contains("jp-CodeCell");

const SLACK = 24; // pixels of margin that nobody needs to see

export function projector(panel) {
  let shown = null; // the number of the part on view, null while the page is as usual
  const told = document.createElement("p");
  told.className = "pondheat-part";
  told.setAttribute("role", "status");

  const scroller = () => panel.content.node.querySelector(".jp-WindowedPanel-outer") ?? panel.content.node;

  /* A part that is taller than the screen is gone through before the next one comes. */
  function turn(step) {
    const view = scroller();
    const [frame, cells] = [view.getBoundingClientRect(), parts(panel)[shown].map(node => node.getBoundingClientRect())];
    const left = step > 0 ? cells.at(-1).bottom - frame.bottom + told.offsetHeight : frame.top - cells[0].top;
    if (left > SLACK) view.scrollBy(0, step * 0.8 * view.clientHeight);
    else show(shown + step);
  }

  function show(at) {
    const all = parts(panel);
    shown = Math.max(0, Math.min(at, all.length - 1));
    for (const { node } of panel.content.widgets) node.classList.toggle("pondheat-away", !all[shown].includes(node));
    told.textContent = SAID(shown + 1, all.length);
    scroller().scrollTo(0, 0);
    const inputs = all[shown].flatMap(node => [...node.querySelectorAll("input")]).filter(input => input.offsetParent);
    // Of a question and its panel, the question stands first; where there is something to look at, the panel.
    const looked = isCode(all[shown][0]) ? inputs.find(input => input.closest(".ph-panel")) : undefined;
    looked?.closest(".ph-panel").scrollIntoView();
    const first = looked || inputs[0];
    if (first) first.focus({ preventScroll: true }); else document.activeElement?.blur();
  }

  function begin() {
    // Where the reader is: the first part that is still on view.
    const top = panel.content.node.getBoundingClientRect().top;
    const at = parts(panel).findIndex(cells => cells.at(-1).getBoundingClientRect().bottom > top + 40);
    document.body.classList.add("pondheat-projector");
    document.body.append(told);
    show(Math.max(at, 0));
  }

  function end() {
    const [node] = parts(panel)[shown];
    shown = null;
    document.body.classList.remove("pondheat-projector");
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
    if (shown !== null) { document.body.classList.remove("pondheat-projector"); told.remove(); }
  });
}
