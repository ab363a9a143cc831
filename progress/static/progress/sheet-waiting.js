/* On every staff page but the sheets: tries that wait on this phone are sent, and spoken of.

     <script type="module" src="{% static 'progress/sheet-waiting.js' %}"
             data-token-url="{% url 'sheet_token' %}" data-coach="{{ code }}"></script>

   A coach who closed the sheet in a hall without a network opens the site again at home. */

const { tokenUrl, coach } = document.querySelector("script[data-token-url]").dataset;
const line = document.createElement("p");
line.className = "notice";
line.id = "tries-waiting";
let waited = false;

function tries(number) {
  return number === 1 ? "1 try" : `${number} tries`;
}

function link(address) {
  const made = document.createElement("a");
  made.href = address;
  made.textContent = "Open its sheet";
  return made;
}

function said({ elsewhere, others, stuck, held }) {
  const parts = [];
  if (elsewhere > 0) { parts.push(`${tries(elsewhere)} ${elsewhere === 1 ? "waits" : "wait"} on this phone.`); }
  if (elsewhere === 0 && waited) { parts.push("Every try of yours on this phone is sent."); }
  if (others > 0) { parts.push(`${tries(others)} of another coach ${others === 1 ? "waits" : "wait"} here until that coach signs in.`); }
  for (const address of stuck) { parts.push("A try was not stored.", link(address)); }
  parts.push(...held);
  return parts;
}

function tell(news) {
  waited ||= news.elsewhere > 0;
  const parts = said(news);
  if (parts.length === 0) { line.remove(); return; }
  line.replaceChildren(...parts.flatMap((part) => [part, " "]));
  if (!line.isConnected) { document.querySelector(".notices")?.append(line); }
}

async function start() {
  // Most of the time nothing was ever recorded here; then nothing more is loaded.
  const stores = await indexedDB.databases?.();
  if (stores && !stores.some(({ name }) => name === "gym-tries")) { return; }
  const { openQueue } = await import("./sheet-queue.js");
  const queue = await openQueue({ classCode: null, sendUrl: null, tokenUrl, coach });
  queue.subscribe(tell);
}

start().catch((error) => { console.warn("What waits on this device could not be read.", error); });
