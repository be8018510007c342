/* What Jupyter tells by circles and stars, in words: starting, working, saving, Python gone. */

const STARTING = "Starting Python …";
const GONE = "Python has stopped.", SILENT = "Python doesn't answer.";
const SAID = { busy: "Working …", starting: STARTING, connecting: STARTING, initializing: STARTING, restarting: STARTING,
  autorestarting: STARTING, idle: "", dead: GONE, terminating: "Stopping Python …", disconnected: SILENT, unknown: GONE };
const MOMENT = 600; // ms; what is over sooner is not told

/* Tell the state of a page by `show(sentence, needsReload)`; returns what tells it once more. */
export function tellState(panel, show) {
  const { context, sessionContext } = panel;
  let saving = "", lost = false, met = false, later;
  const say = () => {
    if (panel.isDisposed) return;
    const status = sessionContext.kernelDisplayStatus;
    met ||= sessionContext.isReady || status !== "unknown"; // until then Python isn't unknown but has yet to come
    const sentence = saving || (lost ? GONE : SAID[met ? status : "starting"] ?? STARTING);
    show(sentence, [GONE, SILENT].includes(sentence));
  };
  const soon = () => {
    clearTimeout(later);
    if (sessionContext.kernelDisplayStatus === "idle") say(); else later = setTimeout(say, MOMENT);
  };
  for (const signal of [sessionContext.statusChanged, sessionContext.connectionStatusChanged, sessionContext.kernelChanged]) {
    signal.connect(soon);
  }
  // Jupyter starts a Python that has died again by itself, but none of the page's controls is known there.
  sessionContext.statusChanged.connect((same, status) => {
    if (status === "autorestarting" || status === "restarting") lost = status === "autorestarting";
  });
  context.saveState.connect((same, state) => {
    saving = { started: "Saving …", failed: "Not saved. Is the workbook still open in its terminal? Is the disk full?" }[state] ?? "";
    if (state === "failed") say(); else soon();
  });
  say();
  return say;
}
