/* Tries kept on this device until the gym's computer has them: an IndexedDB store and a lock.

   A record holds ids, a result and times, never a name: whoever finds the phone learns nothing of
   a child from it. It is deleted as soon as it is confirmed. Its `number` keeps the order of
   entering, because a correction makes sense only after the try it corrects.

   `tried` says that a record went out in a request whose outcome may be unknown. From then on it
   may be stored at the gym, so it can be corrected but no longer quietly removed. */

const NAME = "gym-tries";
const TRIES = "tries";
const LEASE = "lease";
const LEASE_MS = 30_000; // longer than one request may take; a killed tab blocks others this long

let opening;

function openDatabase() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      const tries = request.result.createObjectStore(TRIES, { keyPath: "number", autoIncrement: true });
      tries.createIndex("uid", "uid", { unique: true });
      request.result.createObjectStore(LEASE);
    };
    request.onerror = () => { opening = undefined; reject(request.error); };
    request.onsuccess = () => {
      const database = request.result;
      // A later version of this file must be able to change the store while this tab is open.
      database.onversionchange = () => { database.close(); opening = undefined; };
      database.onclose = () => { opening = undefined; };
      resolve(database);
    };
  });
  return opening;
}

/* Run `work(store, give)` in one transaction; resolves, with what was given, once it is on disk. */
async function within(store, mode, work) {
  const database = await openDatabase();
  return new Promise((resolve, reject) => {
    // "strict": a try counts as recorded only when a flat battery could not lose it.
    const transaction = database.transaction(store, mode, { durability: "strict" });
    let given;
    transaction.oncomplete = () => resolve(given);
    transaction.onabort = () => reject(transaction.error);
    work(transaction.objectStore(store), (value) => { given = value; });
  });
}

/* All records, in the order they were entered. */
export function allTries() {
  return within(TRIES, "readonly", (store, give) => {
    store.getAll().onsuccess = (event) => give(event.target.result);
  });
}

/* Keep a record; the same uid a second time is a double tap and changes nothing. */
export function addTry(record) {
  return within(TRIES, "readwrite", (store) => {
    store.index("uid").getKey(record.uid).onsuccess = (event) => {
      if (event.target.result === undefined) { store.add(record); }
    };
  });
}

/* Change records in one step that no other tab can come between. `work(records)` answers a list
   of [record, changes]; null for changes deletes the record. Resolves to that list. */
export function changeTries(work) {
  return within(TRIES, "readwrite", (store, give) => {
    store.getAll().onsuccess = (event) => {
      const changed = work(event.target.result);
      for (const [record, changes] of changed) {
        if (changes === null) { store.delete(record.number); } else { store.put({ ...record, ...changes }); }
      }
      give(changed);
    };
  });
}

/* Run `work` while no other tab of this browser does. */
export async function alone(work) {
  if (!navigator.locks) { return aloneByLease(work); }
  let started = false;
  const begin = () => { started = true; return work(); };
  try {
    return await navigator.locks.request(NAME, { signal: AbortSignal.timeout(LEASE_MS) }, begin);
  } catch (error) {
    if (started) { throw error; }
    // A tab that sleeps in the background may hold the lock for good. Taking it away is harmless:
    // the gym's computer stores each uid once, whoever sends it.
    return navigator.locks.request(NAME, { steal: true }, begin);
  }
}

/* The same where the browser has no locks, as on pages without HTTPS. */
async function aloneByLease(work) {
  const mine = {};
  while (!(await takeLease(mine))) { await new Promise((resolve) => setTimeout(resolve, 250)); }
  try {
    return await work();
  } finally {
    await within(LEASE, "readwrite", (store) => {
      store.get("send").onsuccess = (event) => {
        if (event.target.result === mine.until) { store.delete("send"); }
      };
    });
  }
}

function takeLease(mine) {
  return within(LEASE, "readwrite", (store, give) => {
    store.get("send").onsuccess = (event) => {
      const now = Date.now();
      const until = event.target.result ?? 0;
      // A lease that ends too far ahead was made before the clock was set back.
      const free = until <= now || until > now + LEASE_MS + 1_000;
      if (free) { mine.until = now + LEASE_MS + Math.random(); store.put(mine.until, "send"); }
      give(free);
    };
  });
}
