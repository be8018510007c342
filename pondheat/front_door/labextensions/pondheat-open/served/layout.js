/* A picture beside the text that speaks of it. A code cell tagged "beside" holds a panel; where there is room, the text
   round it stands in a column on its left, and the panel stays in view until that text ends. Until the reader has made
   a guess, only text that doesn't give the answer away is in that column, or below the question where there is only one
   column. Everything else goes into the right column, with its headings on the left (reading.css). Lab's own cells are
   only placed, by rows and columns of a grid: their order in the page, and for a screen reader, stays as it is. */

const BESIDE = "beside";
export const STORY = ["setting", "diary", "about"]; // cells that give no answer away
export const ROOM = 1056; // px of page, in the size its text has, from which on there are two columns
const LEAD = 320; // characters of text before the first panel that may stand above it
const PROMPTS = 900; // characters of a list after a panel that may stand above it in one column

const source = cell => cell.model.sharedModel.getSource();
const isText = cell => cell?.model.type === "markdown";
const isHeading = cell => isText(cell) && /^#{1,3} /m.test(source(cell));
const isHeadingAlone = cell => isText(cell) && /^\s*## [^\n]*\s*$/.test(source(cell));
const isPrompts = cell => isText(cell) && /^\s*(?:\d+\.|[-*]) /m.test(source(cell)) && source(cell).length < PROMPTS;
const isTagged = cell => cell.model.type === "code" && (cell.model.getMetadata("tags") ?? []).includes(BESIDE);
const asks = cell => Boolean(cell.node.querySelector(".ph-predict:not(.ph-guessed)")); // a guess is still to be made

export const scroller = panel => panel.content?.node.querySelector(".jp-WindowedPanel-outer");

/* The panels of a page, each with the cells next to it: from `from` to the one before `to`. */
export function groups(cells) {
  const found = [];
  cells.forEach((cell, at) => {
    if (!isTagged(cell)) return;
    let from = at, to = at + 1;
    const free = found.length ? found[found.length - 1].to : 0; // the first cell that is in no group yet
    if (cells.slice(0, at).every(isText)) { // the page's beginning
      const lead = cells.slice(0, at).map(source).join("\n").replace(/^# .*$/m, "");
      from = lead.trim().length <= LEAD ? at : 0;
    } else while (from > free && isText(cells[from - 1]) && !isHeading(cells[from])) from--;
    while (isText(cells[to])) to++;
    // What leads on to the next code is not of this panel, but what comes right after a panel is.
    if (to < cells.length) while (to > at + 2 && !isHeading(cells[to])) to--;
    const prompts = isPrompts(cells[at + 1]) ? at + 1 : -1;
    found.push({ at, from, to: Math.min(to, cells.length), prompts });
  });
  return found;
}

const CLASSES = [
  "pondheat-beside", "pondheat-heading", "pondheat-picture", "pondheat-top", "pondheat-asks", "pondheat-prompts",
  "pondheat-later", "pondheat-story-end",
];

/* Lay out a page; called again whenever its cells, its room or its guesses change. */
export function arrange(panel) {
  if (panel.isDisposed || !panel.content.widgets.length) return;
  const view = scroller(panel), cells = [...panel.content.widgets];
  if (!view) return;
  const wide = view.clientWidth / (Number(getComputedStyle(view).getPropertyValue("--pondheat-zoom")) || 1) >= ROOM;
  const found = groups(cells), projected = document.body.classList.contains("pondheat-projector");
  // A row takes its own cell's height, and only a group's last, empty row what a taller picture needs: of rows spanned,
  // only those grow whose upper bound depends on the content, and 0 px does not.
  const rows = [], own = "minmax(min-content, 0px)";
  const place = cell => { // a heading without a text of its own shares the row of what follows it
    cell.node.style.gridRow = `${rows.length + 1}`;
    if (wide && isHeadingAlone(cell)) cell.node.classList.add("pondheat-heading"); else rows.push(own);
  };
  cells.forEach(({ node }, at) => { node.classList.remove(...CLASSES); node.style.order = 2 * at; });
  for (let at = 0; at < cells.length;) {
    const group = found.find(one => one.from === at);
    if (!group || !wide) { place(cells[at++]); continue; }
    const panelCell = cells[group.at], others = cells.slice(group.from, group.to).filter(cell => cell !== panelCell);
    const beside = asks(panelCell) ? others.filter(cell => STORY.includes(cell.model.id)) : others;
    const start = rows.length + 1;
    for (const cell of beside) { place(cell); cell.node.classList.add("pondheat-beside"); }
    rows.push("auto");
    panelCell.node.style.gridRow = `${start} / ${rows.length + 1}`;
    // On the projector, what to try stays in view beside the panel, as all the text between them is away.
    const prompts = cells[group.prompts];
    if (projected && beside.includes(prompts)) prompts.node.style.gridRow = panelCell.node.style.gridRow;
    others.filter(cell => !beside.includes(cell)).forEach(place);
    at = group.to;
  }
  for (const { at, from, to, prompts } of found) {
    const { node } = cells[at];
    if (!wide && asks(cells[at])) { // in one column, too, the story is what there is to read before a guess
      const story = cells.slice(at, to).filter(cell => STORY.includes(cell.model.id));
      for (const cell of story) cell.node.style.order = 2 * at + 1;
      story.at(-1)?.node.classList.add("pondheat-story-end");
    }
    node.classList.add("pondheat-picture");
    node.classList.toggle("pondheat-top", from === 0);
    node.classList.toggle("pondheat-asks", asks(cells[at]));
    if (prompts >= 0) cells[prompts].node.classList.add("pondheat-prompts");
    if (prompts >= 0 && asks(cells[at])) cells[prompts].node.classList.add("pondheat-later"); // it may give the answer away
    else if (prompts >= 0) cells[prompts].node.style.order = 2 * at - 1; // in one column: first what to do
    keepInView(panel, cells[at]);
  }
  panel.node.classList.toggle("pondheat-columns", wide && found.length > 0);
  panel.node.classList.toggle("pondheat-wide", wide);
  cells[0].node.parentElement.style.setProperty("--pondheat-rows", rows.join(" "));
  watchRoom(panel, view);
}

/* A picture taller than the window stays with its foot in view, not with its head. */
const watched = new WeakSet();
function keepInView(panel, { node }) {
  if (watched.has(node)) return;
  watched.add(node);
  const view = scroller(panel), output = node.querySelector(".jp-Cell-outputWrapper");
  const stay = new ResizeObserver(() =>
    node.style.setProperty("--pondheat-stay", `${Math.min(8, view.clientHeight - output.offsetHeight - 8)}px`));
  stay.observe(output);
  stay.observe(view);
  let before = asks({ node });
  const guess = new MutationObserver(() => { // the picture takes the question's place once the guess is made
    const now = asks({ node });
    if (now !== before) { before = now; arrange(panel); }
  });
  guess.observe(output, { subtree: true, childList: true, attributes: true, attributeFilter: ["class"] });
  panel.disposed.connect(() => { stay.disconnect(); guess.disconnect(); });
}

const seen = new WeakSet();
function watchRoom(panel, view) {
  if (seen.has(view)) return;
  seen.add(view);
  const again = () => arrange(panel);
  const room = new ResizeObserver(again);
  room.observe(view);
  window.addEventListener("resize", again);
  panel.disposed.connect(() => { room.disconnect(); window.removeEventListener("resize", again); });
}
