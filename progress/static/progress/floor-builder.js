/* The builder with a pointer: drag a station along its loop or to another one. Everything it does
   the buttons do as well; without this script the page only loses the dragging, the filtering while
   typing, and the exact place on the screen after a change. */

const KEPT = "floor-place";
const EDGE = 90;
const SPEED = 14;

/* A change loads the page anew; the coach goes on looking at the same spot. */
function keepPlace() {
  document.addEventListener("submit", () => {
    sessionStorage.setItem(KEPT, JSON.stringify({ path: location.pathname, top: window.scrollY }));
  });
  const kept = JSON.parse(sessionStorage.getItem(KEPT) ?? "null");
  sessionStorage.removeItem(KEPT);
  if (kept?.path !== location.pathname || !document.querySelector(".told")) { return; }
  window.addEventListener("load", () => { window.scrollTo({ top: kept.top, behavior: "instant" }); });
}

/* Hide what lacks the words typed; the button beside looks through the whole library. */
function filterWhileTyping(box) {
  const rows = [...document.querySelectorAll("[data-words]")];
  const none = document.querySelector("[data-none]");
  box.addEventListener("input", () => {
    const words = box.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const row of rows) {
      const text = `${row.dataset.words} ${row.textContent}`.toLowerCase();
      row.hidden = !words.every((word) => text.includes(word));
    }
    if (none) { none.hidden = rows.some((row) => !row.hidden); }
  });
}

class Drag {
  constructor(stop, event) {
    this.stop = stop;
    this.pointer = event.pointerId;
    this.grip = event.currentTarget;
    this.startTop = event.clientY + window.scrollY;
    this.startLeft = event.clientX;
    this.x = event.clientX;
    this.y = event.clientY;
    this.gap = document.createElement("li");
    this.gap.className = "stop-gap";
    this.gap.setAttribute("aria-hidden", "true");
    this.grip.setPointerCapture(this.pointer);
    stop.classList.add("stop-dragged");
    document.body.classList.add("dragging");
    this.frame = requestAnimationFrame(() => this.scroll());
  }

  move(event) {
    this.x = event.clientX;
    this.y = event.clientY;
    this.follow();
  }

  follow() {
    const down = this.y + window.scrollY - this.startTop;
    this.stop.style.transform = `translate(${this.x - this.startLeft}px, ${down}px)`;
    const list = this.listUnder();
    if (!list) { return; }
    const others = [...list.children].filter((one) => one !== this.stop && one !== this.gap);
    const next = others.find((one) => {
      const box = one.getBoundingClientRect();
      return this.y < box.top + box.height / 2;
    });
    const there = next ?? null;
    if (this.gap.parentElement !== list || this.gap.nextElementSibling !== there) {
      list.insertBefore(this.gap, there);
      this.steady();
    }
  }

  /* The gap pushes the dragged card about; it stays under the finger all the same. */
  steady() {
    this.stop.style.transform = "";
    const home = this.stop.getBoundingClientRect();
    const grip = this.grip.getBoundingClientRect();
    const middle = grip.top - home.top + grip.height / 2;
    this.startTop = home.top + middle + window.scrollY;
    const down = this.y + window.scrollY - this.startTop;
    this.stop.style.transform = `translate(${this.x - this.startLeft}px, ${down}px)`;
  }

  listUnder() {
    const lists = [...document.querySelectorAll("[data-stops]")];
    return lists.find((list) => {
      const box = list.getBoundingClientRect();
      return this.x >= box.left && this.x <= box.right && this.y >= box.top - 40 && this.y <= box.bottom + 40;
    });
  }

  scroll() {
    const step = this.y < EDGE ? -SPEED : this.y > window.innerHeight - EDGE ? SPEED : 0;
    if (step) {
      window.scrollBy({ top: step, behavior: "instant" });
      this.follow();
    }
    this.frame = requestAnimationFrame(() => this.scroll());
  }

  end() {
    cancelAnimationFrame(this.frame);
    this.stop.classList.remove("stop-dragged");
    this.stop.style.transform = "";
    document.body.classList.remove("dragging");
  }

  drop() {
    const list = this.gap.parentElement;
    const from = this.stop.closest("[data-stops]");
    this.end();
    if (!list) { return; }
    const others = [...list.children].filter((one) => one !== this.stop);
    const place = others.indexOf(this.gap) + 1;
    const was = [...from.children].filter((one) => one !== this.gap).indexOf(this.stop) + 1;
    this.gap.remove();
    if (list === from && place === was) { return; }
    send(this.stop, { do: "place", to_loop: list.dataset.stops, place });
  }

  cancel() {
    this.end();
    this.gap.remove();
  }
}

function send(stop, values) {
  const form = stop.querySelector("form.stop-form");
  // The list of other loops has the same name; the loop it was dropped on counts.
  for (const one of form.querySelectorAll("select")) { one.disabled = true; }
  for (const [name, value] of Object.entries(values)) {
    const field = document.createElement("input");
    field.type = "hidden";
    field.name = name;
    field.value = value;
    form.append(field);
  }
  form.requestSubmit();
}

function makeDraggable(stop) {
  const moves = stop.querySelector(".stop-moves");
  if (!moves) { return; }
  const grip = document.createElement("span");
  grip.className = "grip";
  grip.setAttribute("aria-hidden", "true");
  grip.textContent = "\u2261";
  moves.append(grip);
  let drag = null;
  grip.addEventListener("pointerdown", (event) => {
    if (drag || (event.pointerType === "mouse" && event.button !== 0)) { return; }
    event.preventDefault();
    drag = new Drag(stop, event);
  });
  grip.addEventListener("pointermove", (event) => {
    if (drag && event.pointerId === drag.pointer) { drag.move(event); }
  });
  const done = (finish) => (event) => {
    if (!drag || (event.pointerId !== undefined && event.pointerId !== drag.pointer)) { return; }
    const ending = drag;
    drag = null;
    finish(ending);
  };
  grip.addEventListener("pointerup", done((ending) => { ending.drop(); }));
  grip.addEventListener("pointercancel", done((ending) => { ending.cancel(); }));
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") { done((ending) => { ending.cancel(); })(event); }
  });
}

keepPlace();
const box = document.querySelector("[data-filter]");
if (box) { filterWhileTyping(box); }
for (const stop of document.querySelectorAll(".stop")) { makeDraggable(stop); }
