/* The check sheet with taps: every tap is shown at once and goes to the queue at once.

   Without this script the page is a plain form. It stays one if the browser keeps nothing, as in
   some private windows, because then no tap would survive. */

import { newUid, openQueue } from "./sheet-queue.js";
import { Cell } from "./sheet-cells.js";
import { useRegister } from "./sheet-here.js";
import { copyIsOld, drawAfresh, sayIfCopy } from "./sheet-copy.js";
import { keepFresh, useTabs } from "./sheet-view.js";

const data = JSON.parse(document.getElementById("sheet-data").textContent);
const statusLine = document.getElementById("status");
const spoken = document.getElementById("spoken");
const signIn = document.getElementById("sign-in");
const finish = document.getElementById("finish");
const cells = new Map();
let news = { waiting: 0, state: "saved", refused: [], others: 0, held: [] };
let work = Promise.resolve(); // what is written to the queue, one after the other
let writing = 0; // steps of it that are not on disk yet

function cellOf({ athlete, skill }) {
  return cells.get(JSON.stringify([athlete, skill]));
}

function say(element, text) {
  if (element.textContent !== text) { element.textContent = text; }
}

/* Until a tap is on disk the page must not say that all is saved; the queue tells when it is. */
function later(step) {
  writing += 1;
  say(statusLine, "Saving…");
  work = work.then(step).catch((error) => {
    console.error(error);
    say(statusLine, "This phone could not keep the last tap. Reload the page and look.");
  }).finally(() => { writing -= 1; });
  return work;
}

function onThatDay(moment) {
  return new Date(moment).toLocaleDateString("sv") === data.day;
}

/* Taps */

function entryOf(cell, result, about = {}) {
  return {
    uid: newUid(), athlete: cell.athlete, skill: cell.skill, result, variant: null,
    at: new Date().toISOString(), supersedes: null, taken_back: false, reason: "", ...about,
  };
}

function record(queue, cell, result) {
  const entry = entryOf(cell, result);
  cell.add(entry);
  count();
  say(spoken, `${cell.name}: ${data.results[result].word}. ${cell.tries.length} today.`);
  later(() => queue.put(entry));
}

/* A try that has not left this device is simply dropped; one that may be stored is corrected. */
function takeBack(queue, cell, attempt) {
  const entry = entryOf(cell, attempt.result, { supersedes: attempt.uid, taken_back: true });
  cell.drop(attempt.uid);
  count();
  say(spoken, `${cell.name}: ${data.results[attempt.result].word} taken back. ${cell.tries.length} today.`);
  later(async () => {
    if (await queue.remove(attempt.uid) || await queue.discard(attempt.uid)) { return; }
    await queue.put(entry);
  });
}

/* A refused try is dropped for good; a refused taking back leaves the try as it was. */
function giveUp(queue, cell, { uid, entry }) {
  cell.drop(uid);
  if (entry.supersedes) { cell.add({ uid: entry.supersedes, result: entry.result }); }
  count();
  later(() => queue.discard(uid));
}

/* What the page says */

function count() {
  for (const place of document.querySelectorAll("[data-done]")) {
    const here = [...cells.values()].filter((cell) => cell.skill === place.dataset.done && cell.isHere());
    const lines = document.querySelectorAll('table[data-place="here"] tbody tr').length;
    say(place, `${here.filter((cell) => cell.tries.length > 0).length} of ${lines}`);
  }
}

function statusOf({ state, waiting, refused, others, held }) {
  const said = [{
    saved: "All saved",
    waiting: `${waiting} waiting to be sent`,
    offline: `No network: ${waiting} kept on this phone`,
    "sign-in": `Sign in again to send ${waiting}`,
    refused: "",
  }[state]];
  if (refused.length > 0) { said.push(`${refused.length} not stored: see the marked ${refused.length === 1 ? "cell" : "cells"}`); }
  if (others > 0) { said.push(`${others} of another coach kept on this phone`); }
  said.push(...held.slice(0, 1).map((sentence) => sentence.replace(/\.$/, "")));
  if (held.length > 1) { said.push(`${held.length - 1} more on hold: finish to see who`); }
  return said.filter(Boolean).join(". ");
}

function hear(latest) {
  if (latest.waiting < news.waiting) { copyIsOld(); } // stored, or dropped: the copy has neither
  news = latest;
  if (writing === 0) { say(statusLine, statusOf(news)); }
  signIn.hidden = news.state !== "sign-in";
  if (news.signIn) { signIn.href = news.signIn; }
  for (const cell of cells.values()) {
    cell.showRefused(news.refused.filter(({ entry }) => cellOf(entry) === cell));
  }
}

/* Opening: the page is drawn with what was stored by then; here comes what still waits */

async function fill(queue) {
  for (const entry of await queue.list()) {
    if (!onThatDay(entry.at)) { continue; }
    const cell = cellOf(entry);
    if (entry.supersedes) { cell?.drop(entry.supersedes); }
    if (!entry.taken_back) { cell?.add(entry); }
  }
}

async function leave(queue, event) {
  event.preventDefault();
  finish.disabled = true;
  say(statusLine, "Sending…");
  await work;
  await queue.send();
  const left = (await queue.list()).length;
  finish.disabled = false;
  if (left === 0 && news.refused.length === 0) {
    drawAfresh(); // the news of what was just stored may come too late for this page
    location.assign(data.summaryUrl);
    return;
  }
  say(statusLine, `${statusOf(news)}. You can close this page: nothing is lost`);
}

async function start() {
  const queue = await openQueue(data);
  for (const place of document.querySelectorAll("fieldset.tries")) {
    const cell = new Cell(place, data, {
      record: (one, result) => record(queue, one, result),
      takeBack: (one, attempt) => takeBack(queue, one, attempt),
      retry: (uid) => later(() => queue.retry(uid)),
      giveUp: (one, refused) => giveUp(queue, one, refused),
    });
    cells.set(JSON.stringify([cell.athlete, cell.skill]), cell);
  }
  await fill(queue);
  document.body.classList.add("sheet-live");
  for (const field of document.querySelectorAll("#sheet-form :is(input, select)")) { field.disabled = true; }
  useTabs(data);
  useRegister(data, count, copyIsOld);
  sayIfCopy(document.getElementById("copy"), data.renderedAt);
  count();
  queue.subscribe(hear);
  finish.addEventListener("click", (event) => { leave(queue, event); });
  keepFresh(data.day);
}

start().catch((error) => {
  console.warn(error);
  say(statusLine, "This browser keeps nothing, so mark and press Save.");
});
