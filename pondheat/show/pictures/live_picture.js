/* A picture that is moved, not replaced: what stays keeps its element, so that arrows grow and a cover slides. */

const keyOf = node => (node.nodeType === Node.ELEMENT_NODE ? node.getAttribute("data-k") : null);
const alike = (old, fresh) => old.nodeName === fresh.nodeName && keyOf(old) === keyOf(fresh);

function move(old, fresh) {
  if (old.nodeType !== Node.ELEMENT_NODE) {
    if (old.data !== fresh.data) old.data = fresh.data;
    return;
  }
  for (const { name } of [...old.attributes]) if (!fresh.hasAttribute(name)) old.removeAttribute(name);
  for (const { name, value } of [...fresh.attributes]) if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  const keyed = new Map([...old.children].filter(keyOf).map(child => [keyOf(child), child]));
  let place = old.firstChild;
  for (const child of [...fresh.childNodes]) {
    const known = keyOf(child) ? keyed.get(keyOf(child)) : place;
    if (known && alike(known, child)) {
      if (known !== place) old.insertBefore(known, place);
      move(known, child);
      place = known.nextSibling;
    } else {
      old.insertBefore(child, place);
    }
  }
  while (place) {
    const next = place.nextSibling;
    place.remove();
    place = next;
  }
}

export function show(el, text) {
  const fresh = document.createElement("template");
  fresh.innerHTML = text;
  const both = el.querySelector(".ph-pond") && fresh.content.querySelector(".ph-pond");
  if (!both) el.replaceChildren(fresh.content);
  else {
    const root = document.createElement("div");
    for (const { name, value } of el.attributes) root.setAttribute(name, value);
    root.append(fresh.content);
    move(el, root);
  }
}

function render({ model, el }) {
  const home = document.createElement("div");
  el.append(home);
  const put = () => show(home, model.get("value"));
  put();
  model.on("change:value", put);
  return () => model.off("change:value", put);
}

export default { render };
