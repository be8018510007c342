/* The reading view: a workbook page under one thin bar of our own, without Jupyter's. A button, F8 or Alt+J bring
   Jupyter back. JupyterLab's layout (Lumino) places its parts by numbers, so its bars are hidden as widgets, which
   gives their room back; what lies inside a page is hidden by reading.css. Nothing of this is kept in Jupyter's own
   settings or saved layout: the commands statusbar:toggle and application:toggle-header would do that. */

import { makeBar, onView } from "./bar.js";
import { arrange, scroller } from "./layout.js";
import { kept, keep } from "./remembered.js";
import { tickable } from "./ticks.js";

const CODE_SHOWN = "code-shown";
// What belongs to the workbook besides its notebooks: the word list, the reference, cards, the tutor's notes.
const OURS = /^(?:(?:glossary|reference)\.md|cards\/[^/]+\.html|tutor\/[^/]+\.md)$/;

const nextFrames = async count => { while (count--) await new Promise(requestAnimationFrame); };

/* `shipped`: the paths of the workbook's notebooks; `titles`: theirs, by path, as far as they are known. Returns
   { judge }, by which a page becomes ours once its code is found to be the shipped one. */
export function readingView(app, Widget, shipped, titles) {
  const { shell, commands } = app;
  const ours = new WeakMap(); // notebook panel -> whether its code is the shipped one
  let codeShown = kept(CODE_SHOWN) === "yes", calm = false, restored = false;
  const isNotebook = widget => Boolean(widget && "sessionContext" in widget && widget.content?.model !== undefined);

  const bar = makeBar(app, Widget, shipped.filter(path => !path.includes("/")).sort(), titles, toggle);
  shell.add(bar, "header", { rank: 0 });
  bar.hide(); // its parent is not to be asked: until Lab has restored its layout, the shell only notes what is added

  /* A page is taken for ours until its code is known; a sheet that it wrote, or a card, follows the page before. */
  function belongs(widget) {
    const path = widget?.context?.path;
    if (!path) return calm || (!widget && !codeShown);
    if (isNotebook(widget)) return ours.get(widget) ?? shipped.includes(path);
    return OURS.test(path) || calm;
  }

  const panels = area => new Set([...shell.widgets(area)].map(widget => widget.parent)); // a bar is the parent of its parts

  function dress() {
    const widget = onView(shell);
    const mine = belongs(widget);
    calm = mine && !codeShown;
    document.body.classList.toggle("pondheat-reading", calm);
    bar.setHidden(!mine || document.body.classList.contains("pondheat-projector"));
    if (!restored) return; // Lab sets its bars while it restores its layout
    for (const area of ["top", "menu", "bottom"]) for (const one of panels(area)) one.setHidden(calm);
    for (const side of ["left", "right"]) {
      if (!shell.isEmpty(side) && shell.isSideTabBarVisible(side) === calm) shell.toggleSideTabBarVisibility(side);
      if (calm) side === "left" ? shell.collapseLeft() : shell.collapseRight();
    }
    widget?.toolbar?.setHidden?.(calm);
    if (isNotebook(widget)) dressCells(widget);
    bar.label(widget, codeShown);
  }

  function dressCells(panel) {
    if (!ours.get(panel)) return;
    for (const cell of panel.content.widgets) {
      // The page's keys are the reader's: Space and arrows scroll, no letter cuts or inserts a cell. (On every cell:
      // Lumino looks for a shortcut at the cell that has the keys before it looks at what is round it.)
      cell.node.toggleAttribute("data-lm-suppress-shortcuts", calm);
      if (calm) { cell.node.removeAttribute("tabindex"); } else { cell.node.setAttribute("tabindex", "-1"); }
      if (cell.model.type !== "code") continue;
      if (codeShown) cell.inputHidden = false; else cell.loadCollapseState(); // neither is written into the page
    }
    const view = scroller(panel);
    if (calm) { // a region that scrolls, which the keys reach; Lab calls it a feed, though its cells are no articles
      view?.setAttribute("tabindex", "0");
      view?.setAttribute("role", "region"); // within Lab's own main part
      view?.setAttribute("aria-label", "Page");
    }
    const list = view?.querySelector(".jp-WindowedPanel-viewport");
    if (list && calm) list.removeAttribute("role");
  }

  async function toggle() {
    codeShown = !codeShown;
    keep(CODE_SHOWN, codeShown ? "yes" : "no");
    const panel = onView(shell);
    const top = () => panel.content.node.getBoundingClientRect().top;
    const first = (panel?.content?.widgets ?? []).find(cell => cell.node.getBoundingClientRect().bottom > top() + 40)?.node;
    const before = first && first.getBoundingClientRect().top - top();
    dress();
    if (isNotebook(panel)) arrange(panel);
    await nextFrames(3); // Lumino lays out in a message of its own
    // The reader stays where the reader was, and so do the keys.
    if (first) scroller(panel).scrollTop += first.getBoundingClientRect().top - top() - before;
    if (document.activeElement === document.body) scroller(panel)?.focus({ preventScroll: true });
  }

  /* Lab gives the keys to a cell; a reader's first Tab is to lead to the skip link, and Space is to scroll the page. */
  function startAtTheTop(panel) {
    const held = document.activeElement;
    if (!calm || onView(shell) !== panel || held.matches("input, textarea, button, summary, a")) return;
    if (held === document.body || panel.node.contains(held)) bar.node.focus({ preventScroll: true });
  }
  bar.node.addEventListener("keydown", event => {
    const scrolls = [" ", "PageDown", "PageUp", "ArrowDown", "ArrowUp", "Home", "End"].includes(event.key);
    if (scrolls && event.target === bar.node) scroller(onView(shell))?.focus({ preventScroll: true });
  });
  window.addEventListener("keydown", event => {
    if (!belongs(onView(shell))) return;
    const plain = !event.altKey && !event.ctrlKey && !event.metaKey && !event.shiftKey;
    const withAlt = event.altKey && !event.ctrlKey && !event.metaKey && !event.shiftKey;
    if (plain && event.key === "F8" || withAlt && (event.key.toLowerCase() === "j" || event.code === "KeyJ")) toggle();
    // Lab's shortcut for saving is asleep in the page's cells, and the browser's own would save the address.
    else if (calm && (event.ctrlKey || event.metaKey) && !event.altKey && event.key.toLowerCase() === "s") commands.execute("docmanager:save");
    else return;
    event.preventDefault();
    event.stopImmediatePropagation();
  }, true);
  window.addEventListener("dblclick", event => { // or Lab shows a text's source
    if (calm && event.target.closest(".pondheat-page .jp-MarkdownCell")) event.stopPropagation();
  }, true);
  shell.currentChanged.connect(dress);
  window.addEventListener("pondheat:projector", dress); // shows the page alone
  dress();
  // The status bar comes back by a setting that Lab reads after this very promise: hence the wait.
  app.restored.then(() => nextFrames(1)).then(() => { restored = true; dress(); });

  return {
    /* As soon as a page's content is there: is its code ours? */
    judge(panel, isOurs) {
      ours.set(panel, isOurs);
      if (isOurs) {
        app.restored.then(() => nextFrames(3)).then(() => startAtTheTop(panel));
        bar.follow(panel);
        arrange(panel);
        tickable(panel);
        panel.content.model.cells.changed.connect(() => { arrange(panel); dressCells(panel); tickable(panel); });
      }
      dress();
    }
  };
}
