/* A page as it looked when it last ran, shown until Python answers: plain HTML that nobody can use yet, in the place of
   each code cell's output. It goes, cell by cell, as soon as the cell's own output is drawn. */

const name = path => `${path.replace(/\.ipynb$/, "").replaceAll("/", "-")}.json`;

/* What is stored, by two functions: titles() gives the pages' titles by path, page(path) what is stored of one, or null.
   `beside` gives the address of a file of this extension. */
export function storedPages(beside) {
  const fetched = file => fetch(beside(`stored/${file}`)).then(answer => answer.ok ? answer.json() : null);
  const titles = fetched("titles.json").then(found => found ?? {});
  return { titles: () => titles, page: async path => Object.hasOwn(await titles, path) ? fetched(name(path)) : null };
}

const styles = new Set(); // those on the page already

/* Show it in a page whose code is ours; returns what takes the last of it away. */
export function showStored(panel, page) {
  if (page.style && !styles.has(page.style)) {
    styles.add(page.style);
    document.head.append(Object.assign(document.createElement("style"), { textContent: page.style }));
  }
  const watching = [];
  for (const cell of panel.content.widgets) {
    const shown = page.cells[cell.model.id];
    if (cell.model.type !== "code" || !shown) continue;
    const still = document.createElement("div");
    still.className = "pondheat-still";
    still.inert = true;
    still.setAttribute("aria-hidden", "true");
    still.innerHTML = shown;
    cell.node.append(still);
    const leave = () => { watch.disconnect(); still.remove(); };
    const watch = new MutationObserver(() => { if (isDrawn(cell)) leave(); });
    watch.observe(cell.node.querySelector(".jp-Cell-outputWrapper"), { subtree: true, childList: true, attributes: true, attributeFilter: ["class"] });
    watching.push(leave);
  }
  return () => watching.forEach(leave => leave());
}

/* Whether a cell's own output is on the page: its earlier ones have been cleared, and no widget is an empty element yet. */
function isDrawn({ node }) {
  const output = node.querySelector(".jp-OutputArea-output");
  return Boolean(output?.childElementCount && !output.querySelector(".lm-Widget:empty"));
}
