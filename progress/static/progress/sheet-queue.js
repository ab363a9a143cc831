/* Tries recorded on a check sheet wait here until the gym's computer has stored them.

     const queue = await openQueue({ classCode, sendUrl, tokenUrl, coach });
     await queue.put(entry);      // on disk when it resolves; sends itself about a second later
     await queue.remove(uid);     // false if it may be stored already: correct it instead
     await queue.list();          // entries of this class still to be sent, oldest first
     await queue.send();          // now, and wait for the outcome
     await queue.discard(uid);    // give up a refused try
     await queue.retry(uid);      // send a refused try again, once what was wrong is mended
     const stop = queue.subscribe((news) => ...);
     newUid()                     // an id for an entry

   entry: { uid, athlete, skill, result, variant: null | code, at: ISO time, supersedes: null | uid,
            taken_back: bool, reason: "" }
   news.state: "saved" | "waiting" | "offline" | "sign-in" | "refused"
   news.waiting: how many tries of this class are still to be sent
   news.refused: [{ uid, what: [sentences], entry }]
   news.signIn: where to sign in, in state "sign-in"; otherwise null
   news.others: tries of another coach on this device, sent when that coach signs in
   news.elsewhere: tries of other classes, sent along
   news.stuck: paths of the sheets of other classes where a try was refused
   news.held: sentences about children on hold, whose tries this page sent and were stored

   `coach` is the code of the coach the page was drawn for. A try keeps it, so that a tablet shared
   by two coaches never stores one's tries under the name of the other. Without it, tries are
   stored under the name of whoever is signed in when they are sent.

   A correction of a try that is still on its way waits until that try is stored.

   Nothing is lost and nothing counts twice: an entry leaves this device only after an answer that
   names its uid, and the gym's computer stores each uid once however often it is sent. Signing out
   leaves the queue alone: losing a child's try is worse than keeping an id and a result. */

import { Gym, Unreachable } from "./sheet-post.js";
import { addTry, allTries, alone, changeTries } from "./sheet-store.js";

const FIELDS = ["uid", "athlete", "skill", "result", "variant", "at", "supersedes", "taken_back", "reason"];
const SOON = 1_000; // after a tap: time to think better of it
const AT_LATEST = 5_000; // while a coach keeps tapping
const FIRST_PAUSE = 2_000;
const LONGEST_PAUSE = 60_000;
const MOST_AT_ONCE = 200;

export function newUid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export async function openQueue({ classCode, sendUrl, tokenUrl, coach = null }) {
  const queue = new Queue({ classCode, sendUrl, coach }, new Gym(tokenUrl));
  await allTries(); // rejects at once where the browser keeps nothing, as in some private windows
  queue.listen();
  queue.plan(0);
  return queue;
}

class Queue {
  constructor(page, gym) {
    this.page = page;
    this.gym = gym;
    this.mood = "waiting"; // what the last sending ran into: waiting, offline or sign-in
    this.signIn = null;
    this.held = new Set();
    this.trouble = new Map(); // send_url -> sentences, where a whole sending was turned away
    this.pause = FIRST_PAUSE;
    this.turn = 0;
    this.tellers = new Set();
    this.tabs = "BroadcastChannel" in window ? new BroadcastChannel("gym-tries") : null;
  }

  listen() {
    window.addEventListener("online", () => { this.plan(0); });
    window.addEventListener("offline", () => { this.mood = "offline"; this.tell(); });
    // Coming back is the moment to try again; going away may be the last chance for a while.
    document.addEventListener("visibilitychange", () => { this.tell(); this.plan(0); });
    this.tabs?.addEventListener("message", ({ data }) => {
      [this.mood, this.signIn] = [data.mood, data.signIn];
      this.tell();
    });
  }

  async put(entry) {
    const { classCode, sendUrl, coach } = this.page;
    const place = { class_code: classCode, send_url: sendUrl, by: coach };
    await addTry({ ...asEntry(entry), ...place, tried: false, refused: null });
    this.firstPut ??= Date.now();
    this.plan(Math.max(0, Math.min(SOON, this.firstPut + AT_LATEST - Date.now())));
    this.changed();
  }

  remove(uid) {
    return this.drop((record) => record.uid === uid && !record.tried && !record.refused);
  }

  discard(uid) {
    return this.drop((record) => record.uid === uid && (record.refused || !record.tried));
  }

  async drop(chosen) {
    const dropped = await changeTries((records) => records.filter(chosen).map((record) => [record, null]));
    this.changed();
    return dropped.length > 0;
  }

  async retry(uid) {
    await changeTries((records) => records
      .filter((record) => record.uid === uid)
      .map((record) => [record, { refused: null }]));
    this.changed();
    this.plan(0);
  }

  async list() {
    const records = await allTries();
    return records.filter((record) => this.isHere(record) && !record.refused).map(asEntry);
  }

  subscribe(teller) {
    this.tellers.add(teller);
    this.tell();
    return () => { this.tellers.delete(teller); };
  }

  /* Calls while a sending is under way wait for one more that starts after it. */
  send() {
    if (this.sending) {
      this.next ??= this.sending.then(() => { this.next = null; return this.send(); });
      return this.next;
    }
    this.firstPut = undefined;
    this.sending = this.sendAndPlan().finally(() => { this.sending = null; });
    return this.sending;
  }

  /* Send after so many milliseconds; the newest plan counts. */
  plan(milliseconds) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => { this.send(); }, milliseconds);
  }

  async sendAndPlan() {
    clearTimeout(this.timer);
    let done = false;
    try {
      done = await alone(() => this.sendAll());
    } catch (error) {
      this.mood = error instanceof Unreachable ? "offline" : "waiting";
      if (!(error instanceof Unreachable)) { console.error(error); }
    }
    if (done) {
      this.pause = FIRST_PAUSE;
    } else {
      this.plan(this.pause * (0.75 + Math.random() / 2)); // twenty phones must not knock as one
      this.pause = Math.min(LONGEST_PAUSE, this.pause * 2);
    }
    this.changed();
  }

  /* Send all that can be sent. Answers false if something is left that should be tried again. */
  async sendAll() {
    this.trouble.clear();
    const open = (await allTries()).filter((record) => !record.refused);
    if (open.length === 0) { this.mood = "waiting"; return true; }
    if (navigator.onLine === false) { throw new Unreachable("offline"); }
    const met = await this.gym.greet();
    if (met.kind !== "known") { return this.settle(met, open); }
    const left = new Set(); // classes that have to wait for another time
    for (;;) {
      const batch = await changeTries((records) => this.pick(records, left).map((record) => [record, { tried: true }]));
      if (batch.length === 0) { break; }
      const records = batch.map(([record]) => record);
      const [{ send_url: url, by }] = records;
      const outcome = await this.gym.send(url, records.map(asEntry), by);
      if (!(await this.settle(outcome, records))) { left.add(url); }
      if (outcome.kind === "sign-in") { return false; }
      this.changed();
    }
    const stuck = (await allTries()).some((record) => this.isHere(record) && !this.mayGo(record));
    this.mood = stuck ? "sign-in" : "waiting";
    this.signIn = location.pathname; // drawn afresh for whoever is signed in now
    return left.size === 0;
  }

  /* What goes next: of one class and one coach, and no correction before the try it corrects. */
  pick(records, left) {
    const open = records.filter((record) => !record.refused && !left.has(record.send_url));
    const underWay = new Set(open.map((record) => record.uid));
    const ready = open.filter((record) => this.mayGo(record) && !underWay.has(record.supersedes));
    const alike = ({ send_url: url, by }) => url === ready[0].send_url && by === ready[0].by;
    return ready.filter(alike).slice(0, MOST_AT_ONCE);
  }

  /* Draw the conclusions from an answer. Answers whether the records are dealt with. */
  async settle(outcome, records) {
    const uids = new Set(records.map((record) => record.uid));
    if (outcome.kind === "stored") {
      for (const sentence of outcome.held) { this.held.add(sentence); }
      const stored = new Set(outcome.uids.filter((uid) => uids.has(uid)));
      await changeTries((all) => all.filter(({ uid }) => stored.has(uid)).map((record) => [record, null]));
      return stored.size > 0;
    }
    if (outcome.kind !== "later") { await this.takeBack(records); } // certainly not stored
    if (outcome.kind === "refused") { return this.holdBack(outcome.problems, uids); }
    if (outcome.kind === "turned-away") { records.forEach(({ send_url: url }) => this.trouble.set(url, outcome.what)); }
    this.mood = outcome.kind === "sign-in" ? "sign-in" : "waiting";
    this.signIn = outcome.url ?? null;
    return false;
  }

  /* These went out for the first time and were not stored: they may still be removed. */
  async takeBack(records) {
    const first = new Set(records.filter((record) => !record.tried).map((record) => record.uid));
    await changeTries((all) => all.filter(({ uid }) => first.has(uid)).map((record) => [record, { tried: false }]));
  }

  async holdBack(problems, uids) {
    const what = new Map();
    for (const problem of problems.filter(({ uid }) => uids.has(uid))) {
      what.set(problem.uid, [...(what.get(problem.uid) ?? []), problem.what]);
    }
    await changeTries((all) => all.filter(({ uid }) => what.has(uid)).map((record) => [record, { refused: what.get(record.uid) }]));
    return what.size > 0;
  }

  changed() {
    this.tabs?.postMessage({ mood: this.mood, signIn: this.signIn });
    this.tell();
  }

  async tell() {
    const turn = ++this.turn;
    const records = await allTries();
    if (turn !== this.turn) { return; } // something newer is about to be told
    const open = records.filter((record) => !record.refused);
    const waiting = open.filter((record) => this.isHere(record)).length;
    const others = open.filter((record) => !this.isOurs(record)).length;
    const refused = records.filter((record) => this.isHere(record)).flatMap((record) => {
      const what = record.refused ?? this.trouble.get(record.send_url);
      return what ? [{ uid: record.uid, what, entry: asEntry(record) }] : [];
    });
    const state = this.stateOf(waiting, refused.length);
    const signIn = state === "sign-in" ? this.signIn : null;
    const stuck = new Set(records
      .filter((record) => record.refused && this.isOurs(record) && !this.isHere(record))
      .map((record) => record.send_url.replace(/send\/$/, "")));
    const elsewhere = open.length - waiting - others;
    const news = { waiting, state, refused, signIn, others, elsewhere, stuck: [...stuck], held: [...this.held] };
    for (const teller of this.tellers) { teller(news); }
  }

  stateOf(waiting, refused) {
    if (waiting > 0 && this.mood !== "waiting") { return this.mood; }
    if (refused > 0) { return "refused"; }
    return waiting > 0 ? "waiting" : "saved";
  }

  isHere(record) {
    return record.class_code === this.page.classCode && this.isOurs(record);
  }

  isOurs(record) {
    return record.by === null || this.page.coach === null || record.by === this.page.coach;
  }

  /* Whether the coach who is signed in made this try. */
  mayGo(record) {
    return record.by === null || record.by === this.gym.coach;
  }
}

function asEntry(record) {
  return Object.fromEntries(FIELDS.map((field) => [field, record[field]]));
}
