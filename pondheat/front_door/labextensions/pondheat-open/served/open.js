/* A notebook of the workbook runs by itself when it opens, so that its panels are live without pressing Run.
   Only where its metadata ask for it AND its code cells are the shipped ones (shipped.json); a stranger's never.
   A JupyterLab extension written by hand as one module of the federation: no build step, no imports. */
(() => {
  const source = document.currentScript.src;
  const beside = name => new URL(name, source).href;
  const FIRST_PAGE = "00_start_here.ipynb";
  const RENUMBERED = { "04_moist_air": "05_moist_air", "05_open_surface": "04_open_surface" }; // core/renumbering.py
  const complain = error => console.error("pondheat-open:", error);
  const FIRST_MOVE = 1000; // ms
  /* anywidget allows a widget two seconds to start. One that takes longer never again hears from Python, though it
     still sends; on a slow or busy computer, a page of many controls takes longer. */
  const limit = AbortSignal.timeout.bind(AbortSignal);
  AbortSignal.timeout = milliseconds => limit(milliseconds === 2000 ? 120000 : milliseconds);
  let scope = {};
  const shared = async name => (await Object.values(scope[name])[0].get())();

  /* SHA-256 (FIPS 180-4) in plain JavaScript: crypto.subtle is absent over plain http from another machine. */
  const firstBits = (root, count) => {
    const found = [];
    for (let n = 2; found.length < count; n++) {
      if (![...Array(n).keys()].slice(2).some(d => n % d === 0)) found.push(((root(n) % 1) * 2 ** 32) | 0);
    }
    return found;
  };
  const START = firstBits(Math.sqrt, 8);
  const ROUND = firstBits(Math.cbrt, 64);
  const turn = (word, by) => (word >>> by) | (word << (32 - by));

  function sha256(text) {
    const bytes = new TextEncoder().encode(text);
    const padded = new Uint8Array(Math.ceil((bytes.length + 9) / 64) * 64);
    padded.set(bytes);
    padded[bytes.length] = 0x80;
    const view = new DataView(padded.buffer);
    view.setUint32(padded.length - 8, Math.floor(bytes.length / 2 ** 29));
    view.setUint32(padded.length - 4, (bytes.length << 3) >>> 0);
    const state = [...START];
    const w = new Int32Array(64);
    for (let at = 0; at < padded.length; at += 64) {
      for (let i = 0; i < 64; i++) {
        if (i < 16) { w[i] = view.getInt32(at + 4 * i); continue; }
        const small0 = turn(w[i - 15], 7) ^ turn(w[i - 15], 18) ^ (w[i - 15] >>> 3);
        const small1 = turn(w[i - 2], 17) ^ turn(w[i - 2], 19) ^ (w[i - 2] >>> 10);
        w[i] = w[i - 16] + small0 + w[i - 7] + small1;
      }
      let [a, b, c, d, e, f, g, h] = state;
      for (let i = 0; i < 64; i++) {
        const big1 = turn(e, 6) ^ turn(e, 11) ^ turn(e, 25);
        const big0 = turn(a, 2) ^ turn(a, 13) ^ turn(a, 22);
        const first = (h + big1 + ((e & f) ^ (~e & g)) + ROUND[i] + w[i]) | 0;
        const second = (big0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
        [h, g, f, e, d, c, b, a] = [g, f, e, (d + first) | 0, c, b, a, (first + second) | 0];
      }
      [a, b, c, d, e, f, g, h].forEach((word, i) => { state[i] = (state[i] + word) | 0; });
    }
    return state.map(word => (word >>> 0).toString(16).padStart(8, "0")).join("");
  }

  /* The same fingerprint as pondheat/front_door/copying.py makes. */
  function codeFingerprint(model) {
    const sources = [...model.cells].filter(cell => cell.type === "code").map(cell => cell.sharedModel.getSource());
    return sha256(sources.filter(source => source.trim()).join("\0"));
  }

  const fetched = async (name, otherwise) => {
    const answer = await fetch(beside(name), { cache: "no-store" });
    return answer.ok ? answer.json() : otherwise;
  };
  let list; // asked for while Lab still starts
  const shippedList = () => list ??= fetched("shipped.json", {});

  const stored = import(beside("stored.js")).then(({ storedPages, showStored }) => ({ ...storedPages(beside), showStored }));

  async function isShipped(context) {
    const asked = context.model.getMetadata("pondheat");
    if (!asked || asked.run_on_open !== true) return false;
    const shipped = await shippedList();
    // Named by its path from the top: a page in a folder below could bring its own "pondheat" folder along.
    const known = Object.hasOwn(shipped, context.path) ? shipped[context.path] : [];
    return known.includes(codeFingerprint(context.model));
  }

  async function kernelReady(session) {
    await session.ready;
    const end = Date.now() + 60000;
    while (Date.now() < end) {
      const kernel = session.session && session.session.kernel;
      // Cells run before the connection stands are executed, but their outputs are lost.
      if (kernel && kernel.connectionStatus === "connected" && ["idle", "busy"].includes(kernel.status)) return true;
      await new Promise(later => setTimeout(later, 50));
    }
    return false;
  }

  const written = context =>
    JSON.stringify([...context.model.cells].map(cell => [cell.type, cell.sharedModel.getSource()]));

  /* Nothing is unsaved unless the reader wrote: outputs come back by themselves at the next opening, and Jupyter notes
     the kernel in the page at a moment of its own. So the browser asks nobody who only read, even while cells run. */
  function keepUnasked(context, opened) {
    let kept = opened, sent = opened;
    const settle = () => {
      if (!context.isDisposed && context.model.dirty && written(context) === kept) context.model.dirty = false;
    };
    context.model.stateChanged.connect((model, change) => {
      // After all others have heard of the change: Lab counts what is unsaved by these messages.
      if (change.name === "dirty" && change.newValue) queueMicrotask(settle);
    });
    context.saveState.connect((same, state) => {
      if (state === "started") sent = written(context);
      else if (state === "completed") kept = sent;
    });
    settle();
  }

  /* Lab loads all of MathJax for the first text that it shows. Where nothing looks like a formula, there is no need. */
  function typesetFormulas(typesetter) {
    if (!typesetter || Object.hasOwn(typesetter, "typeset")) return;
    const typeset = typesetter.typeset.bind(typesetter);
    typesetter.typeset = node => { if (/[$\\]/.test(node.textContent)) return typeset(node); };
  }

  /* The state of Python as an attribute of the page, for the style sheet and for tests. */
  function noteState(panel) {
    const note = () => { panel.node.dataset.python = panel.sessionContext.kernelDisplayStatus; };
    panel.sessionContext.statusChanged.connect(note);
    panel.sessionContext.connectionStatusChanged.connect(note);
    note();
  }

  async function consider(panel, context, reading) {
    await context.ready;
    const isOurs = await isShipped(context);
    reading.then(view => view.judge(panel, isOurs)).catch(complain); // a page runs whatever it looks like
    const opened = written(context);
    let putAway = () => {};
    if (isOurs) {
      const { NotebookActions } = await shared("@jupyterlab/notebook");
      keepUnasked(context, opened);
      // Outputs kept from an earlier reading name widgets of a Python that is gone.
      NotebookActions.clearAllOutputs(panel.content);
      const { page, showStored } = await stored;
      const shown = await page(context.path).catch(complain);
      if (shown && !panel.isDisposed) putAway = showStored(panel, shown);
    }
    if (context.model.getMetadata("pondheat")) {
      panel.addClass("pondheat-page");
      const { projector } = await import(beside("projector.js"));
      projector(panel);
    }
    noteState(panel);
    if (!(await kernelReady(context.sessionContext)) || panel.isDisposed || !isOurs) return;
    const { NotebookActions } = await shared("@jupyterlab/notebook");
    panel.node.dataset.run = "begun";
    // One at a time, not runAll, which would leap to the last cell and let a slider wait until all have run.
    for (const cell of panel.content.widgets.filter(cell => cell.model.type === "code")) {
      if (panel.isDisposed || !(await NotebookActions.runCells(panel.content, [cell], context.sessionContext))) break;
      if (cell.node.querySelector(".ph-panel input:not(:disabled)")?.offsetParent) await quiet(cell.node);
    }
    panel.node.dataset.run = "done";
    setTimeout(putAway, 2000); // of a cell that now shows nothing at all
  }

  /* Until a panel that has just come has not been moved for a moment: what it answers comes before the rest of the page. */
  async function quiet(node) {
    let last = Date.now();
    const moved = () => { last = Date.now(); };
    node.addEventListener("input", moved);
    while (Date.now() - last < FIRST_MOVE) await new Promise(later => setTimeout(later, 100));
    node.removeEventListener("input", moved);
  }

  /* A card (HTML) has neither a link that leads anywhere nor a way to be printed: both are given to it here. */
  async function equip(panel, context, app) {
    const [{ Printing }, { Widget }] = await Promise.all(["@jupyterlab/apputils", "@lumino/widgets"].map(shared));
    const address = await context.urlResolver.getDownloadUrl(context.path);
    panel[Printing.symbol] = () => () => Printing.printURL(address);
    const add = (name, said, act) => {
      const button = Object.assign(document.createElement("button"), { textContent: said, onclick: act });
      button.className = "pondheat-button";
      panel.toolbar.addItem(name, new Widget({ node: button }));
    };
    add("pages", "All pages", () => app.commands.execute("docmanager:open", { path: FIRST_PAGE }));
    add("print", "Print", panel[Printing.symbol]());
  }

  /* The present path of a page that had another number; the same path if it had none, or if a file has that name. */
  async function presentPath(path) {
    const [, folder, name, ending] = /^(tutor\/)?([^/]+?)(\.\w+)$/.exec(path) ?? [];
    if (!Object.hasOwn(RENUMBERED, name ?? "")) return path;
    const { baseUrl } = JSON.parse(document.getElementById("jupyter-config-data").textContent);
    const answer = await fetch(`${baseUrl}api/contents/${folder ?? ""}`);
    if (!answer.ok || (await answer.json()).content.some(file => file.path === path)) return path;
    return `${folder ?? ""}${RENUMBERED[name]}${ending}`;
  }

  /* A bookmark or a link from before pages were renumbered leads to the page under its present number. */
  async function followBookmark() {
    const [, before, path] = /^(.*\/tree\/)(.+)$/.exec(location.pathname) ?? [];
    const present = path && await presentPath(decodeURIComponent(path));
    if (path && present !== decodeURIComponent(path)) location.replace(`${before}${present}${location.search}`);
  }
  followBookmark().catch(complain); // at once, while Lab still starts

  /* The path that an address names, or an empty one. */
  const addressed = (pathname = location.pathname) =>
    decodeURIComponent(/\/doc\/(?:.+\/)?tree\/(.+)$/.exec(pathname)?.[1] ?? "");

  /* The browser's Back and Forward change the address only; this opens what it names, one page after the other. */
  let followed, following = Promise.resolve();
  async function followAddress(app) {
    const path = addressed();
    if (!path || path === app.shell.currentPath) return;
    followed = await presentPath(path);
    await app.commands.execute("docmanager:open", { path: followed });
  }

  /* Lab adds an entry to the browser's history for every page that comes into view, also for one that Back has opened:
     the next Back would lead to the same page, and Forward nowhere. Only a page that the address doesn't name, and that
     Back or Forward hasn't opened, is new to the history. */
  function keepHistory() {
    const push = history.pushState.bind(history);
    history.pushState = (state, title, url) => {
      const { pathname } = new URL(url, location.href);
      if (pathname === location.pathname) history.replaceState(state, title, url);
      else if (!followed || addressed(pathname) !== followed) {
        followed = undefined;
        push(state, title, url);
      }
    };
  }

  /* Lab opens what the address names only after it has saved its state, which it puts off for a second. A page of ours
     is opened at once; when Lab's turn comes, it is told of none, as the reader may have gone on by then. Only from then
     on does the address follow the page that is shown. */
  function openAtOnce(app) {
    const { commands, restored, shell } = app;
    const path = addressed();
    let config, opened = false;
    const heard = (of, { id, result }) => {
      if (id === "apputils:load-statedb") result.finally(() => { if (opened) config.setOption("treePath", ""); });
      if (id !== "router:tree") return;
      commands.commandExecuted.disconnect(heard);
      if (!opened) return;
      const treePath = shell.currentPath || path;
      config.setOption("treePath", treePath);
      if (treePath !== path) history.pushState({}, "", new URL(config.getUrl({ treePath })).pathname);
    };
    const open = async () => {
      const [{ PageConfig }, shipped] = await Promise.all([shared("@jupyterlab/coreutils"), shippedList(), restored]);
      config = PageConfig;
      if (!Object.hasOwn(shipped, path)) return;
      await commands.execute("docmanager:open", { path });
      opened = true;
    };
    commands.commandExecuted.connect(heard);
    open().catch(() => {}); // Lab says why
  }

  const plugin = {
    id: "pondheat-open:plugin",
    autoStart: true,
    activate: app => {
      for (const name of ["page.css", "reading.css"]) {
        document.head.append(Object.assign(document.createElement("link"), { rel: "stylesheet", href: beside(name) }));
      }
      const titles = stored.then(found => found.titles());
      const reading = Promise.all([import(beside("reading.js")), shared("@lumino/widgets"), shippedList(), titles])
        .then(([{ readingView }, { Widget }, shipped, known]) => readingView(app, Widget, Object.keys(shipped), known));
      reading.catch(complain);
      keepHistory();
      window.addEventListener("popstate", () => {
        following = following.then(() => followAddress(app)).catch(complain);
      });
      openAtOnce(app);
      app.docRegistry.addWidgetExtension("Notebook", {
        createNew: (panel, context) => {
          typesetFormulas(panel.content.rendermime.latexTypesetter);
          consider(panel, context, reading).catch(complain);
        }
      });
      app.docRegistry.addWidgetExtension("HTML Viewer", {
        createNew: (panel, context) => {
          equip(panel, context, app).catch(complain);
        }
      });
    }
  };
  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB["pondheat-open"] = {
    init: given => { scope = given; },
    get: async () => () => ({ __esModule: true, default: [plugin] })
  };
})();
