/* Have the sheet kept on this device, so that it opens without a network the next time.

     <script type="module" src="{% static 'progress/sheet-offline.js' %}"
             data-sheet-worker="{% url 'sheet_worker' %}"></script>

   Browsers offer this on HTTPS and on localhost only; elsewhere the sheet works while there is a
   network. <html data-kept="yes"> once the sheet would open without one. */

/* What the page was drawn with. */
function files() {
  return [...new Set(performance.getEntriesByType("resource").map((entry) => entry.name))];
}

function loaded() {
  return new Promise((resolve) => {
    if (document.readyState === "complete") { resolve(); } else { window.addEventListener("load", resolve, { once: true }); }
  });
}

function keep(worker) {
  const answered = new MessageChannel();
  answered.port1.onmessage = ({ data }) => { document.documentElement.dataset.kept = data ? "yes" : "no"; };
  worker?.postMessage({ type: "keep", page: location.pathname, files: files() }, [answered.port2]);
}

async function keepThisPage() {
  const address = new URL(document.querySelector("script[data-sheet-worker]").dataset.sheetWorker, location.href);
  // Where static files lie: this file is in the project's own folder there.
  address.searchParams.set("static", new URL("../", import.meta.url).pathname);
  await navigator.serviceWorker.register(address);
  const { active } = await navigator.serviceWorker.ready;
  await loaded();
  keep(active);
  // A newer worker starts with nothing kept.
  navigator.serviceWorker.addEventListener("controllerchange", () => { keep(navigator.serviceWorker.controller); });
}

if ("serviceWorker" in navigator && window.isSecureContext) {
  keepThisPage().catch((error) => { console.warn("The sheet could not be kept on this device.", error); });
}
