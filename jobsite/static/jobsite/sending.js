// Sends what is kept on this device, one after another, until the server says that it is saved; only then it is forgotten.
// The same record again is harmless: it carries the key by which the server knows it again. Used by pages, which show how
// far an upload is, and by the service worker when no page is open (Background Sync).

import { alone, change, fact, found, keepInstead, kept, newId, person, setFact, tell } from "./device.js";

const inPage = typeof document !== "undefined";
const cookie = /(?:^|; )(?:__Host-)?csrftoken=([^;]+)/; // named so by https
const stored = async (name) => (await globalThis.cookieStore?.get(name))?.value;
const token = async () =>
  inPage ? cookie.exec(document.cookie)?.[1] ?? "" : (await stored("__Host-csrftoken")) ?? (await stored("csrftoken")) ?? "";
export const sentence = (html) => {
  const wrongs = new DOMParser().parseFromString(html ?? "", "text/html").querySelectorAll(".wrongs li, .wrongs p");
  return [...wrongs].map((wrong) => wrong.textContent.trim()).join(" ");
};

const GONE = "What it belongs to is no longer there, or not yours to change.";
const TOO_LARGE = "It is too large to be sent. Take a photo off, or put in a smaller one.";
const FAILED = "Something went wrong on the server. It is kept on this device and tried again by itself.";
const TOO_MANY = "The server was sent too much in a short time. It is kept on this device and tried again by itself.";
const ON_ITS_WAY = "It was sent before and the server is still at it. It is kept on this device and tried again by itself.";
const NOT_ACCEPTED = "The server did not take it.";
const SOMEBODY_ELSE = "Somebody else signed in on this device"; // as the server says it
const SIGNING_IN = 'name="password"'; // the page that is answered to whoever is not signed in
const STALE = "this form had gone stale"; // the answer to a request without a good CSRF token
const SIGN_IN = "You are no longer signed in. It is kept on this device; sign in again and it is sent.";
export const PORTAL = "The network here asks for something first (a sign-in page of the place?). Nothing is lost: it goes out by itself afterwards.";
const ASKS_FIRST = 511; // Network Authentication Required, RFC 6585 section 6: said by a network, never by us

const bodyOf = (record) => {
  const body = new FormData();
  record.fields.forEach(([name, value]) => body.append(name, value));
  record.photos.filter(({ to }) => !to).forEach(({ name, file }) => body.append(name, file, file.name || "photo.jpg"));
  return body;
};
const patience = (record) => 30_000 + 10_000 * record.photos.length;
const headersOf = async (record) => ({
  "X-CSRFToken": await token(),
  "HX-Request": "true",
  "X-Kept": record.key,
  "X-Person": record.person,
  "X-Made": new Date(record.made ?? record.at).toISOString(),
  "X-Sent": new Date().toISOString(),
  ...(record.once ? { "Idempotency-Key": `"${record.once}"` } : {}),
});
// Both answer { status, html, header } or null where nobody answered.
const byPage = (record, headers) =>
  new Promise((done) => {
    const call = new XMLHttpRequest(); // fetch does not tell how far an upload is
    call.open("POST", record.action);
    call.timeout = patience(record);
    Object.entries(headers).forEach(([name, value]) => call.setRequestHeader(name, value));
    call.upload.onprogress = (part) => tell("kept:progress", { key: record.key, sent: part.loaded, of: part.total });
    call.onerror = call.ontimeout = call.onabort = () => done(null);
    call.onload = () => done({ status: call.status, html: call.responseText, header: (name) => call.getResponseHeader(name) });
    call.send(bodyOf(record));
  });
const byWorker = async (record, headers) => {
  try {
    const signal = AbortSignal.timeout(patience(record));
    const answer = await fetch(record.action, { method: "POST", headers, body: bodyOf(record), signal });
    return { status: answer.status, html: await answer.text(), header: (name) => answer.headers.get(name) };
  } catch {
    return null;
  }
};

// "saved" | "refused" | "failed" | "stopped" | "unreachable", with html, to, why, ended, soon (asked again in seconds).
// "ended": what it was typed for takes nothing more, so that its form, if it still stands here, is of no use.
// "failed": answered, but not saved, and not for what was typed; it may go well later, and the next ones may at once.
const read = (record, { status, html, header }) => {
  const ofMachine = (header("Content-Type") ?? "").startsWith("application/problem+json");
  if (header("X-Saved") === record.key) return { outcome: "saved", html, to: header("HX-Redirect") };
  if (status >= 500 && status !== ASKS_FIRST) return { outcome: "failed", why: FAILED };
  if (status === 429) return { outcome: "failed", why: TOO_MANY };
  if (status === 413) return { outcome: "refused", why: TOO_LARGE };
  if (!header("X-Service")) return { outcome: "unreachable", portal: true, why: PORTAL }; // not ours, whatever it says
  if (ofMachine && status === 409) return { outcome: "failed", why: ON_ITS_WAY, soon: true };
  if (ofMachine && status >= 400) return { outcome: "refused", why: NOT_ACCEPTED };
  if (status === 422) return { outcome: "refused", html, why: inPage ? sentence(html) : "" };
  if (status === 409) return { outcome: "refused", ended: true, html, why: inPage ? sentence(html) : "" };
  if (status >= 400 && !html.includes(SOMEBODY_ELSE) && !html.includes(STALE)) return { outcome: "refused", why: GONE };
  if (status >= 400 || html.includes(SIGNING_IN)) return { outcome: "stopped", why: SIGN_IN };
  return { outcome: "refused", ended: true, why: GONE }; // answered by another page: there is no form for it any more
};
export const post = async (record) => {
  if (!navigator.onLine) return { outcome: "unreachable" };
  const headers = await headersOf(record);
  if (!headers["X-CSRFToken"]) return { outcome: "stopped", why: SIGN_IN };
  const answer = await (inPage ? byPage : byWorker)(record, headers);
  if (!answer) return { outcome: "unreachable" };
  const off = Number(answer.header("X-Clock-Off") ?? 0);
  return { ...read(record, answer), ...(off ? { off } : {}) };
};

// Photos that follow a saved form: each a record of its own to the address in `to`, right behind it in its group.
const idOf = (record) => record.fields.find(([name]) => name === "id")?.[1] ?? "";
const follower = (record, { file, to }, n) => {
  const [id, once] = [newId(), newId()];
  return {
    ...record, key: `${record.person}:photo:${id}:${once}`, form: `photo:${id}`, action: to.replace("{id}", idOf(record)),
    what: `Photo: ${record.what}`, kind: "photo", fields: [["id", id]], photos: [{ name: "photo", file }], why: "", html: "", again: true,
    once, turn: turn(record) + (n + 1) / 100,
  };
};
export const followersOf = (record) => record.photos.filter(({ to }) => to).map((photo, n) => follower(record, photo, n));

let again = 0; // the timer by which the server is asked again
// Sends one record and settles what becomes of it.
const send = async (record) => {
  const answer = await post(record);
  if (answer.outcome === "saved") await keepInstead([record.key], ...followersOf(record));
  if (answer.outcome === "refused") await change({ ...record, state: "refused", why: answer.why, html: answer.ended ? "" : answer.html });
  if (answer.outcome === "failed") await change({ ...record, why: answer.why });
  await setFact("network", { outcome: answer.outcome, why: answer.why ?? "", portal: Boolean(answer.portal), at: Date.now() });
  if (answer.off) await setFact("clock", { off: answer.off, at: Date.now() });
  tell(`kept:${answer.outcome}`, { record, answer });
  if (answer.soon) {
    clearTimeout(again);
    again = setTimeout(sendAll, AT_IT, record.person);
  }
  return answer;
};

// Those of its group before `record` that are not saved yet: it waits its turn.
const turn = (record) => record.turn ?? record.at;
const stands = (record) => record.state !== "typed" || Boolean(record.why); // to be sent, or to be put right
export const before = (record, all) =>
  all.filter((one) => record.group && one.group === record.group && stands(one) && turn(one) < turn(record));

// The next one that may go, of those that were not tried in this round.
const sendNext = async (who, tried) => {
  const all = await kept(who);
  const record = all.find((one) => one.state === "waiting" && !tried.has(one.key) && !before(one, all).length);
  if (!record) return "done";
  tried.add(record.key);
  return (await send(record)).outcome;
};
const NO_USE = ["done", "unreachable", "stopped"]; // the round ends
const round = async (who) => {
  const tried = new Set();
  let outcome = "";
  while (!NO_USE.includes(outcome)) outcome = await alone("outbox", () => sendNext(who, tried));
};

// The network may come back in the middle of a round that just found none, or while another tab is sending: then once more,
// and not only half a minute later.
const SOON = 2_000;
const AT_IT = 5_000; // to a server that is still at the same one: a page that was left in the middle of a photo
let running = false;
let asked = false;
export const sendAll = async (who = person()) => {
  asked = running;
  if (running || !who) return;
  running = true;
  try {
    do {
      asked = false;
      await alone("round", (mine) => (mine ? round(who) : void setTimeout(sendAll, SOON, who)), { ifAvailable: true });
    } while (asked);
  } finally {
    running = false;
  }
};

// Sends this one now, after those before it in its group; answers as `post`, or "behind": one before it is not saved.
export const deliver = (record) =>
  alone("outbox", async () => {
    const all = await kept(record.person);
    for (const one of before(record, all)) {
      const { outcome, why } = one.state === "waiting" ? await send(one) : { outcome: "refused" };
      if (outcome !== "saved") return NO_USE.includes(outcome) ? { outcome, why } : { outcome: "behind" };
    }
    const still = await found(record.key);
    if (still?.state === "waiting") return send(still);
    return { outcome: still ? "failed" : "saved", why: still?.why ?? "", html: "", to: "" }; // another tab was faster
  });
// For a device that can keep nothing: now or not at all.
export const sendUnkept = (record) => alone("outbox", () => post(record));
// For the worker: what whoever is signed in here sent off. Rejected where something is left: the browser then asks again.
export const sendForPerson = async () => {
  const who = (await fact("person")) ?? "";
  await sendAll(who);
  if ((await kept(who)).some(({ state }) => state === "waiting")) throw new Error("Not all went out.");
};
