/* What a sheet says to the gym's computer, and what each answer means for the tries it sent.

   Only an answer in JSON is believed. A hall's wireless network may put its own welcome page in
   place of any answer, with a status that looks like success. */

const PATIENCE = 20_000; // how long one request may take
const KEEPALIVE_LIMIT = 60_000; // browsers refuse more than 64 KiB in a request that outlives its page

/* There was no gym at the other end. */
export class Unreachable extends Error {}

export class Gym {
  constructor(tokenUrl) {
    this.tokenUrl = tokenUrl;
    this.token = null;
    this.coach = null; // the code of who is signed in, once known
  }

  /* Learn who is signed in. Answers { kind: "known" }, "sign-in" with a url, or "later". */
  async greet() {
    const { status, json } = await ask(this.tokenUrl, { cache: "no-store" });
    if (status === 200 && json?.token) {
      [this.token, this.coach] = [json.token, json.coach];
      return { kind: "known" };
    }
    return signInOf(json) ?? turnedAway(status, json);
  }

  /* Send entries of one class. Answers what became of them, as { kind }:
     "stored" with uids, and held: sentences about children on hold; "refused" with problems by uid, nothing stored; "sign-in" with a url,
     nothing stored; "turned-away" with sentences, nothing stored; "later": nobody knows. */
  async send(url, entries, coach) {
    let answer = await this.post(url, entries, coach);
    if (answer.status === 403 || answer.status === 409) {
      // The token is stale, or somebody else signed in meanwhile: look again, once.
      const met = await this.greet();
      if (met.kind !== "known") { return met; }
      if (coach !== null && coach !== this.coach) { return { kind: "sign-in", url: location.pathname }; }
      answer = await this.post(url, entries, coach);
    }
    return meaningOf(answer);
  }

  post(url, entries, coach) {
    const body = JSON.stringify(coach === null ? { entries } : { entries, coach });
    return ask(url, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": this.token },
      body,
      // Lets a sending finish that was begun as the coach locked the phone.
      keepalive: document.visibilityState === "hidden" && body.length < KEEPALIVE_LIMIT,
    });
  }
}

async function ask(url, options) {
  const address = new URL(url, location.href);
  // An address comes from the device's store: never send a token or a try anywhere else.
  if (address.origin !== location.origin) { throw new Unreachable("another host"); }
  try {
    const response = await fetch(address, {
      credentials: "same-origin",
      redirect: "manual", // no answer of ours is a redirect; a network's welcome page often is
      signal: AbortSignal.timeout(PATIENCE),
      ...options,
    });
    const isJson = (response.headers.get("Content-Type") ?? "").startsWith("application/json");
    const json = isJson ? await response.json() : null;
    if (response.type === "opaqueredirect" || (response.ok && !json)) { throw new Unreachable("not the gym"); }
    return { status: response.status, json };
  } catch (error) {
    throw error instanceof Unreachable ? error : new Unreachable(String(error));
  }
}

function meaningOf({ status, json }) {
  if (status === 200 && Array.isArray(json?.stored)) { return { kind: "stored", uids: json.stored, held: json.held ?? [] }; }
  const named = (json?.problems ?? []).filter((problem) => problem.uid);
  if (named.length > 0) { return { kind: "refused", problems: named }; }
  return signInOf(json) ?? turnedAway(status, json);
}

function signInOf(json) {
  if (!json?.sign_in) { return null; }
  const url = new URL(json.sign_in, location.href);
  url.searchParams.set("next", location.pathname + location.search); // back to this very page
  return { kind: "sign-in", url: url.pathname + url.search };
}

function turnedAway(status, json) {
  const what = (json?.problems ?? []).map((problem) => problem.what);
  return what.length > 0 && status < 500 ? { kind: "turned-away", what } : { kind: "later" };
}
