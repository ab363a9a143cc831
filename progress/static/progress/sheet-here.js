/* The register: a tap marks an athlete away or here, is shown at once and sent at once.

   A mark that finds no network is kept on this device and sent when there is one. */

import { shape } from "./sheet-cells.js";

export function useRegister(data, onChange, onStored) {
  forgetOtherDays(data.day);
  new Register(data, onChange, onStored).listen();
}

/* The gym's computer takes the register of today only. */
function forgetOtherDays(day) {
  for (const key of Object.keys(localStorage)) {
    if (/^(sheet-tries|register)-/.test(key) && !key.endsWith(day)) { localStorage.removeItem(key); }
  }
}

class Register {
  constructor(data, onChange, onStored) {
    this.data = data;
    this.onStored = onStored;
    this.onChange = onChange;
    this.form = document.getElementById("register-form");
    this.key = `register-${data.classCode}-${data.day}`;
    this.waiting = JSON.parse(localStorage.getItem(this.key) ?? "{}");
    this.buttons = [...this.form.querySelectorAll("[data-athlete]")];
    this.order = this.buttons.map((one) => one.dataset.athlete);
    this.line = document.createElement("p");
    this.line.className = "small";
    this.line.setAttribute("role", "status");
    this.form.append(this.line);
    this.token = this.form.elements.csrfmiddlewaretoken.value;
  }

  listen() {
    this.form.addEventListener("submit", (event) => {
      const one = event.submitter;
      if (!one?.dataset.athlete) { return; }
      event.preventDefault();
      this.mark(one.dataset.athlete, one.name === "here");
    });
    window.addEventListener("online", () => { this.send(); });
    for (const [athlete, here] of Object.entries(this.waiting)) { this.show(athlete, here); }
    this.send();
  }

  mark(athlete, here) {
    this.show(athlete, here);
    this.waiting[athlete] = here;
    this.keep();
    this.send();
  }

  keep() {
    if (Object.keys(this.waiting).length === 0) { localStorage.removeItem(this.key); return; }
    localStorage.setItem(this.key, JSON.stringify(this.waiting));
  }

  show(athlete, here) {
    const one = this.buttons.find((button) => button.dataset.athlete === athlete);
    if (!one) { delete this.waiting[athlete]; return; }
    one.name = here ? "away" : "here";
    const { shape: name, word } = this.data.marks[here ? "here" : "away"];
    const mark = document.createElement("span");
    mark.className = "mark mark-strong";
    mark.append(shape(this.data.sprite, name), word);
    one.querySelector(".toggle-state").replaceChildren(mark);
    this.move(athlete, here);
    this.count();
  }

  /* Away athletes stand folded away below the others; the order of names stays. */
  move(athlete, here) {
    const row = [...document.querySelectorAll(".check-table tbody tr")].find((one) => one.dataset.athlete === athlete);
    const body = document.querySelector(`table[data-place="${here ? "here" : "away"}"] tbody`);
    const place = this.order.indexOf(athlete);
    const next = [...body.rows].find((one) => one !== row && this.order.indexOf(one.dataset.athlete) > place);
    body.insertBefore(row, next ?? null);
  }

  count() {
    const away = document.querySelectorAll('table[data-place="away"] tbody tr').length;
    const here = this.order.length - away;
    document.querySelector('[data-count="register"]').textContent = `${here} here${away ? `, ${away} away` : ""}`;
    document.querySelector('[data-count="away"]').textContent = away;
    document.getElementById("away").hidden = away === 0;
    this.onChange();
  }

  async send() {
    if (this.sending || Object.keys(this.waiting).length === 0) { return; }
    this.sending = true;
    const marks = { ...this.waiting };
    try {
      let response = await this.post(marks);
      if (response.status === 403) { await this.freshToken(); response = await this.post(marks); }
      await this.settle(response, marks);
    } catch {
      this.line.textContent = "No network: the register is kept on this phone.";
    } finally {
      this.sending = false;
    }
  }

  post(marks) {
    const body = new URLSearchParams();
    for (const [athlete, here] of Object.entries(marks)) { body.append(here ? "here" : "away", athlete); }
    return fetch(this.data.registerUrl, {
      method: "POST",
      headers: { Accept: "application/json", "X-CSRFToken": this.token },
      body,
      redirect: "manual",
    });
  }

  async freshToken() {
    const answer = await fetch(this.data.tokenUrl, { cache: "no-store", redirect: "manual" });
    if (answer.ok) { this.token = (await answer.json()).token; }
  }

  async settle(response, marks) {
    if (response.type === "opaqueredirect" || response.status === 403) {
      this.line.textContent = "Sign in again: the register is kept on this phone.";
      return;
    }
    const answer = await response.json();
    if (!answer.stored && !answer.problem) { throw new Error("no answer of ours"); }
    for (const [athlete, here] of Object.entries(marks)) {
      if (this.waiting[athlete] === here) { delete this.waiting[athlete]; }
    }
    this.keep();
    if (answer.stored) { this.onStored(); }
    this.line.textContent = answer.stored ? "" : `${answer.problem} Reload the page.`;
    if (Object.keys(this.waiting).length > 0) { setTimeout(() => this.send(), 0); }
  }
}
