/* The copy of this sheet on this device, with which it opens without a network.

   What was sent has left this device, and the copy was drawn before. So once tries or a register
   are stored, the copy is drawn afresh; and a page that is such a copy says so, with its time. */

const SOON = 3_000; // after the last sending: a coach who keeps tapping does not draw it each time

let timer;

/* <html data-copy="old"> until the copy has been drawn afresh, then "fresh". */
export function copyIsOld() {
  document.documentElement.dataset.copy = "old";
  clearTimeout(timer);
  timer = setTimeout(drawAfresh, SOON);
}

/* Going away may be the last chance for a while. */
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "hidden" && document.documentElement.dataset.copy === "old") { drawAfresh(); }
});

/* At once, and going on when this page is left. */
export function drawAfresh() {
  clearTimeout(timer);
  ask({ type: "keep", page: location.pathname, files: [], afresh: true }, (kept) => {
    if (kept) { document.documentElement.dataset.copy = "fresh"; }
  });
}

/* Tell `place` when this page was drawn, if it is a kept copy. */
export function sayIfCopy(place, renderedAt) {
  ask({ type: "was-kept" }, (wasKept) => {
    if (!wasKept) { return; }
    const time = new Date(renderedAt).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    place.textContent = `No network when this opened: this is the sheet of ${time}. Tries sent after that are stored, but not shown here.`;
    place.hidden = false;
  });
}

function ask(question, hear) {
  const worker = navigator.serviceWorker?.controller;
  if (!worker) { return; }
  const answered = new MessageChannel();
  answered.port1.onmessage = ({ data }) => { hear(data); };
  worker.postMessage(question, [answered.port2]);
}
