/* Which skill is in view: the tabs change it without asking the network. */

function show(code, columns) {
  const cells = document.getElementById("cells");
  cells.classList.toggle("by-athlete", code === "");
  cells.classList.toggle("by-skill", code !== "");
  const number = String(columns.findIndex((column) => column.code === code));
  for (const one of cells.querySelectorAll("[data-k]")) {
    one.hidden = code !== "" && one.dataset.k !== number;
  }
  for (const tab of document.querySelectorAll("[data-tab]")) {
    if (tab.dataset.tab === code) { tab.setAttribute("aria-current", "page"); } else { tab.removeAttribute("aria-current"); }
  }
  for (const field of document.querySelectorAll("[data-view]")) {
    field.name = code === "" ? "by" : "skill";
    field.value = code === "" ? "athlete" : code;
  }
}

export function useTabs({ classCode, columns }) {
  const key = `sheet-view-${classCode}`;
  const tabs = [...document.querySelectorAll("[data-tab]")];
  for (const tab of tabs) {
    tab.addEventListener("click", (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey) { return; }
      event.preventDefault();
      show(tab.dataset.tab, columns);
      history.replaceState(null, "", tab.href);
      sessionStorage.setItem(key, tab.dataset.tab);
      tab.scrollIntoView({ block: "nearest", inline: "nearest" });
      toTop();
    });
  }
  const asked = new URLSearchParams(location.search);
  // Without a network the page is a kept copy, drawn for another view than the one asked for.
  const wanted = asked.get("by") === "athlete" ? "" : asked.get("skill") ?? sessionStorage.getItem(key);
  if (tabs.some((tab) => tab.dataset.tab === wanted)) { show(wanted, columns); }
}

/* A new skill starts with the first athlete again. */
function toTop() {
  const cells = document.getElementById("cells");
  if (cells.getBoundingClientRect().top < 0) { cells.scrollIntoView({ block: "start", behavior: "instant" }); }
}

/* A page kept open since another day, or brought back by the browser, would show old tallies. */
export function keepFresh(day) {
  const old = () => new Date().toLocaleDateString("sv") !== day;
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible" && navigator.onLine && old()) { location.reload(); }
  });
  window.addEventListener("pageshow", (event) => {
    if (event.persisted && navigator.onLine) { location.reload(); }
  });
}
