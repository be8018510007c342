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

/* Reading a chart: point at it, or move along it with the arrow keys; a rule, dots and words say what is there. The
   slider and the words keep their place when a new chart takes the old one's. */
function reader() {
  const slider = document.createElement("div"), words = document.createElement("div");
  slider.className = "ph-chart-reader";
  words.className = "ph-chart-words";
  let chart, at = 0;

  const hide = () => {
    words.hidden = true;
    chart.svg.querySelector(".ph-rule")?.remove();
  };

  function tell() {
    const { svg, frame: [left, top, wide, high], readings } = chart;
    const [share, heights, told] = readings[at], x = left + share * wide;
    svg.querySelector(".ph-rule")?.remove();
    const dots = heights.map(y => `<circle cx="${x}" cy="${top + y * high}" r="5"/>`).join("");
    svg.insertAdjacentHTML(
      "beforeend",
      `<g class="ph-rule" aria-hidden="true"><path d="M${x} ${top}v${high}"/>${dots}</g>`
    );
    slider.setAttribute("aria-valuenow", at);
    slider.setAttribute("aria-valuetext", told);
    words.textContent = told;
    words.hidden = false;
    const box = svg.getBoundingClientRect(), around = svg.parentElement.getBoundingClientRect();
    const middle = box.left - around.left + (x / svg.viewBox.baseVal.width) * box.width;
    const most = around.width - words.offsetWidth;
    words.style.left = `${Math.max(0, Math.min(middle - words.offsetWidth / 2, most))}px`;
    words.style.top = `${box.top - around.top - words.offsetHeight - 2}px`;
  }

  function point(event) {
    const box = chart.svg.getBoundingClientRect();
    const share = ((event.clientX - box.left) / box.width * chart.svg.viewBox.baseVal.width - chart.frame[0]) / chart.frame[2];
    const away = ([x]) => Math.abs(x - share);
    at = chart.readings.reduce((best, one, n) => (away(one) < away(chart.readings[best]) ? n : best), 0);
    tell();
  }

  function take(svg) {
    chart = { svg, ...JSON.parse(svg.dataset.readings) };
    at = Math.min(at, chart.readings.length - 1);
    const set = { role: "slider", tabindex: 0, "aria-valuemin": 0, "aria-valuemax": chart.readings.length - 1,
      "aria-label": `Read the chart: ${svg.querySelector("title").textContent}`,
      "aria-valuenow": at, "aria-valuetext": chart.readings[at][2] };
    for (const [name, value] of Object.entries(set)) slider.setAttribute(name, value);
    svg.after(slider, words);
    svg.addEventListener("pointermove", point);
    svg.addEventListener("pointerleave", hide);
    hide();
  }

  slider.addEventListener("focus", tell);
  slider.addEventListener("blur", hide);
  slider.addEventListener("keydown", event => {
    const last = chart.readings.length - 1, far = Math.max(1, Math.round(last / 10));
    const to = { ArrowRight: at + 1, ArrowUp: at + 1, ArrowLeft: at - 1, ArrowDown: at - 1, PageUp: at + far,
      PageDown: at - far, Home: 0, End: last }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    at = Math.max(0, Math.min(to, last));
    tell();
  });
  return { slider, take };
}

function render({ model, el }) {
  const home = document.createElement("div"), readers = [];
  el.classList.add("ph-live");
  el.append(home);
  const put = () => {
    const read = readers.findIndex(one => one.slider === document.activeElement);
    show(home, model.get("value"));
    const charts = [...home.querySelectorAll("svg[data-readings]")];
    charts.forEach((svg, at) => (readers[at] ??= reader()).take(svg));
    if (read >= 0 && read < charts.length) readers[read].slider.focus();
  };
  put();
  model.on("change:value", put);
  return () => model.off("change:value", put);
}

export default { render };
