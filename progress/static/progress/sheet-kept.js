/* What was recorded on this device today, so that a kept copy of the page still shows it.

   Without a network the sheet opens from a copy that was drawn before the last taps. Those that
   were sent since have left the queue; without this list the coach would tap them again. It holds
   ids, results and times, no names, and is gone the next day. */

const MARGIN = 2 * 60_000; // clocks differ a little

export class Kept {
  constructor({ classCode, coach, day, renderedAt }) {
    this.key = `sheet-tries-${day}-${coach}-${classCode}`;
    this.since = Date.parse(renderedAt) - MARGIN;
    for (const key of Object.keys(localStorage)) {
      const old = /^(sheet-tries|register)-/.test(key) && !key.includes(day);
      if (old) { localStorage.removeItem(key); }
    }
  }

  all() {
    try { return JSON.parse(localStorage.getItem(this.key) ?? "[]"); } catch { return []; }
  }

  /* What the page cannot know of, because it was drawn before. */
  sinceDrawn() {
    return this.all().filter((entry) => Date.parse(entry.at) > this.since);
  }

  add({ uid, athlete, skill, result, at, supersedes, taken_back }) {
    this.write([...this.all(), { uid, athlete, skill, result, at, supersedes, taken_back }]);
  }

  drop(uid) {
    this.write(this.all().filter((entry) => entry.uid !== uid));
  }

  write(entries) {
    // A full device loses only this list: the queue says so itself if it cannot keep a try.
    try { localStorage.setItem(this.key, JSON.stringify(entries)); } catch (error) { console.warn(error); }
  }
}
