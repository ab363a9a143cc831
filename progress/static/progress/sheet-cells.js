/* One athlete at one skill: three buttons, today's tries, and what was refused. */

export const KEYS = { c: "clean", h: "assisted", n: "miss" };
const SVG = "http://www.w3.org/2000/svg";

export function shape(sprite, name) {
  const drawing = document.createElementNS(SVG, "svg");
  drawing.setAttribute("class", "shape");
  drawing.setAttribute("aria-hidden", "true");
  const use = document.createElementNS(SVG, "use");
  use.setAttribute("href", sprite + name);
  drawing.append(use);
  return drawing;
}

/* A try the page was drawn with: its link leads to /athletes/…/attempts/<uid>/correct/. */
function drawnTry(link) {
  return { uid: decodeURIComponent(link.pathname.split("/").at(-3)), result: link.dataset.result };
}

function button(className, onClick, ...content) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = className;
  made.append(...content);
  made.addEventListener("click", onClick);
  return made;
}

function hiddenWords(text) {
  const words = document.createElement("span");
  words.className = "sr-only";
  words.textContent = text;
  return words;
}

export class Cell {
  constructor(place, data, does) {
    this.place = place;
    this.data = data;
    this.does = does;
    const row = place.closest("tr");
    const column = data.columns[place.closest("td").dataset.k];
    this.athlete = row.dataset.athlete;
    this.skill = column.code;
    this.name = `${row.querySelector("summary [id]").textContent}, ${column.name}`;
    Object.assign(place.dataset, { athlete: this.athlete, skill: this.skill });
    this.tries = [...place.querySelectorAll(".tally a")].map(drawnTry);
    this.refused = [];
    this.build();
  }

  build() {
    for (const old of this.place.querySelectorAll(".tally")) { old.remove(); }
    const taps = document.createElement("div");
    taps.className = "taps";
    for (const [key, result] of Object.entries(KEYS)) {
      const { shape: name, word } = this.data.results[result];
      const one = button(`tap tap-${result}`, () => this.does.record(this, result), shape(this.data.sprite, name), word);
      one.setAttribute("aria-keyshortcuts", key);
      taps.append(one);
    }
    this.tally = document.createElement("ul");
    this.tally.className = "tally";
    this.tally.setAttribute("aria-label", `Today, ${this.name}`);
    this.notStored = document.createElement("div");
    this.place.append(taps, this.tally, this.notStored);
    this.place.addEventListener("keydown", (event) => this.onKey(event));
    this.draw();
  }

  isHere() {
    return this.place.closest("table").dataset.place === "here";
  }

  add({ uid, result }) {
    if (this.tries.some((attempt) => attempt.uid === uid)) { return; }
    this.tries.push({ uid, result });
    this.draw();
  }

  drop(uid) {
    const hadFocus = this.tally.contains(document.activeElement) || this.notStored.contains(document.activeElement);
    this.tries = this.tries.filter((attempt) => attempt.uid !== uid);
    this.draw();
    if (hadFocus) { this.place.querySelector(".tap").focus(); }
  }

  draw() {
    this.tally.hidden = this.tries.length === 0;
    this.tally.replaceChildren(...this.tries.map((attempt) => {
      const item = document.createElement("li");
      const { shape: name, word } = this.data.results[attempt.result];
      const refused = this.refused.some(({ uid }) => uid === attempt.uid);
      const chip = button("chip", () => this.does.takeBack(this, attempt),
        shape(this.data.sprite, name), hiddenWords(`${word}${refused ? ", not stored" : ""}: take back`));
      if (refused) { chip.classList.add("chip-refused"); }
      item.append(chip);
      return item;
    }));
  }

  showRefused(refused) {
    if (refused.length === 0 && this.refused.length === 0) { return; }
    this.refused = refused;
    for (const { entry } of refused) { if (!entry.supersedes) { this.add(entry); } }
    this.draw();
    this.place.classList.toggle("cell-wrong", refused.length > 0);
    this.notStored.replaceChildren(...refused.map((one) => this.refusal(one)));
  }

  refusal(one) {
    const box = document.createElement("div");
    box.className = "refusal";
    const words = document.createElement("p");
    words.append(shape(this.data.sprite, this.data.marks.refused.shape), `${this.data.marks.refused.word}: ${one.what.join("; ")}.`);
    box.append(
      words,
      button("button button-quiet", () => this.does.retry(one.uid), "Send again"),
      button("button button-quiet", () => this.does.giveUp(this, one), "Take it off"),
    );
    return box;
  }

  /* c, h and n record; up and down go to the same control of the next athlete. */
  onKey(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) { return; }
    const result = KEYS[event.key.toLowerCase()];
    if (result && !event.repeat) { event.preventDefault(); this.does.record(this, result); return; }
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (!step) { return; }
    const all = [...document.querySelectorAll("fieldset.tries")]
      .filter((place) => place.dataset.skill === this.skill && place.offsetParent !== null);
    const next = all[all.indexOf(this.place) + step];
    if (!next) { return; }
    event.preventDefault();
    const which = [...this.place.querySelectorAll(".tap")].indexOf(document.activeElement);
    next.querySelectorAll(".tap")[Math.max(0, which)].focus();
  }
}
