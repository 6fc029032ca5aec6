// What is kept on an engineer's phone: fetched by the service worker (worker.js) as the server lists it, a few at a time.
//   shell:VERSION     style and scripts, by the digest that the server named
//   pages:PERSON      pages, compressed, each with the stamp of its group; pictures:PERSON small pictures
// Facts in the store `phone` (device.js): `person` who is signed in here; `packed` what the last round came to.
// Whatever is no longer listed is deleted. Nothing here touches what waits to be sent.

import { fact, setFact } from "./device.js";

const AT_ONCE = 3;
const PATIENCE = 20_000; // for one page or picture
const OFTEN = 600_000;
const RESERVE = 10_000_000; // bytes that stay free for the photos that the engineer takes
// Of an answer's headers, what says nothing of a kept page.
const NOT_STORED = ["content-encoding", "content-length", "set-cookie", "date", "server", "connection", "cache-control"];

export const shellOf = (version) => `shell:${version}`;
export const pagesOf = (person) => `pages:${person}`;
export const picturesOf = (person) => `pictures:${person}`;
export const isOurs = (answer, service) => answer.headers.get("X-Service") === service;
const full = (error) => error.name === "QuotaExceededError";

// --- keeping and opening ---

const through = (body, change) => new Response(body.pipeThrough(change));
const compressed = async (text) => {
  const plain = new Blob([text]);
  return globalThis.CompressionStream ? through(plain.stream(), new CompressionStream("gzip")).blob() : plain;
};
const keepPage = async (cache, address, answer, text, marks) => {
  const body = await compressed(text);
  const headers = new Headers([...answer.headers].filter(([name]) => !NOT_STORED.includes(name)));
  const more = { ...marks, "X-Packed": new Date().toISOString(), "X-Size": body.size, "X-Gzip": globalThis.CompressionStream ? "yes" : "no" };
  Object.entries(more).forEach(([name, value]) => headers.set(name, value));
  await cache.put(address, new Response(body, { headers }));
};
const LONDON = { timeZone: "Europe/London" };
const when = (packed) => {
  const [at, now] = [new Date(packed), new Date()];
  const day = (one) => one.toLocaleDateString("en-GB", LONDON);
  const hour = at.toLocaleTimeString("en-GB", { ...LONDON, hour: "2-digit", minute: "2-digit" });
  return day(at) === day(now) ? hour : `${hour} on ${at.toLocaleDateString("en-GB", { ...LONDON, weekday: "short", day: "numeric", month: "short" })}`;
};

// A kept page as it was, and as one from the phone: for scripts by data-packed, for people by a line.
export const openPage = async (kept) => {
  const packed = kept.headers.get("X-Packed");
  const body = kept.headers.get("X-Gzip") === "yes" ? through(kept.body, new DecompressionStream("gzip")) : kept;
  const line = `<p class="packed soft" role="status">From this phone, as it was at ${when(packed)}</p>`;
  const text = (await body.text())
    .replace("<body ", `<body data-packed="${packed}" `)
    .replace(/<main id="main"[^>]*>/, (main) => main + line);
  return new Response(text, { headers: kept.headers });
};

export const keepShell = async (version, files) => {
  const cache = await caches.open(shellOf(version));
  for (const { address, digest } of files) {
    if (await cache.match(address)) continue;
    const answer = await fetch(address, { ...(digest ? { integrity: digest } : {}), cache: "no-cache" });
    if (!answer.ok) throw new Error(`${address} answered ${answer.status}`);
    await cache.put(address, answer);
  }
};

// --- people ---

// Pages of anybody else go from this phone; `person` "": of everybody.
export const keepOnlyFor = async (person) => {
  const mine = [pagesOf(person), picturesOf(person)];
  for (const name of await caches.keys()) {
    if (/^(pages|pictures):/.test(name) && !mine.includes(name)) await caches.delete(name);
  }
  const packed = await fact("packed");
  if (packed && packed.person !== person) await setFact("packed", null);
};

// --- fetching ---

class Unreachable extends Error {}

const ask = async (address, facts, more = {}) => {
  let answer;
  try {
    answer = await fetch(address, { redirect: "manual", credentials: "same-origin", cache: "no-store", signal: AbortSignal.timeout(PATIENCE), ...more });
  } catch {
    throw new Unreachable();
  }
  // A guest network sends on to its own page, or answers in our place.
  if (answer.type !== "opaqueredirect" && !isOurs(answer, facts.service)) throw new Unreachable();
  return answer;
};
const textOf = (answer) => answer.text().catch(() => { throw new Unreachable(); });

const page = async (address, group, round) => {
  const kept = await round.pages.match(address);
  if (kept?.headers.get("X-Stamp") === group.stamp) return;
  if (round.passed[address] === group.stamp) return;
  const answer = await ask(address, round.facts, { headers: { "X-Pack": "yes", "X-Person": round.person } });
  const good = answer.type === "basic" && answer.status === 200 && (answer.headers.get("Content-Type") ?? "").startsWith("text/html");
  if (!good || /no-store/.test(answer.headers.get("Cache-Control") ?? "")) {
    if (answer.status >= 500) round.failed += 1;
    else round.passed[address] = group.stamp;
    await round.pages.delete(address);
    return;
  }
  const text = await textOf(answer);
  const stands = /\/static\/(\w+)\//.exec(text)?.[1] ?? round.version;
  if (stands !== round.version) throw new Unreachable(); // the service was just renewed: the next round fits together
  await storing(round, () => keepPage(round.pages, address, answer, text, { "X-Stamp": group.stamp, "X-Shell": stands }));
};
// Pages go before pictures, and those of later days give way first.
const storing = async (round, store) => {
  try {
    await store();
  } catch (error) {
    if (!full(error)) throw error;
    round.full = true;
    if (!(await giveWay(round))) throw error;
    await storing(round, store);
  }
};
const giveWay = async (round) => {
  for (const group of [...round.groups].reverse()) {
    const kept = [];
    for (const address of group.pictures) if (await round.pictures.match(address)) kept.push(address);
    for (const address of kept) await round.pictures.delete(address);
    if (kept.length) return true;
  }
  return false;
};

const picture = async (address, round) => {
  if (await round.pictures.match(address)) return;
  const answer = await ask(address, round.facts, { headers: { "X-Person": round.person } });
  if (answer.type !== "basic" || answer.status !== 200 || /no-store/.test(answer.headers.get("Cache-Control") ?? "")) return;
  const body = await answer.blob().catch(() => { throw new Unreachable(); });
  const headers = { "Content-Type": body.type, "X-Size": body.size, "X-Service": round.facts.service };
  await round.pictures.put(address, new Response(body, { headers }));
};
const roomLeft = async () => {
  const { quota = Infinity, usage = 0 } = (await navigator.storage?.estimate?.()) ?? {};
  return quota - usage > RESERVE;
};
const picturesOfGroup = async (group, round) => {
  if (round.full) return;
  try {
    if (await roomLeft()) await few(group.pictures, (address) => picture(address, round));
    else round.full = true;
  } catch (error) {
    if (!full(error)) throw error;
    round.full = true;
  }
};

const few = async (list, work) => {
  const left = [...list];
  const one = async () => {
    try {
      while (left.length) await work(left.shift());
    } finally {
      left.length = 0; // where one failed the others need not try
    }
  };
  const ends = await Promise.allSettled(Array.from({ length: AT_ONCE }, one));
  const bad = ends.find(({ status }) => status === "rejected");
  if (bad) throw bad.reason;
};

// --- a round ---

const dropUnlisted = async (cache, listed) => {
  const wanted = new Set(listed.map((address) => new URL(address, location.origin).href));
  for (const request of await cache.keys()) if (!wanted.has(request.url)) await cache.delete(request);
};
const sizes = async (cache) => (await cache.matchAll()).reduce((sum, { headers }) => sum + Number(headers.get("X-Size") ?? 0), 0);
// A shell is needed as long as a page stands in it.
const dropShells = async (round) => {
  const names = (await caches.keys()).filter((name) => name.startsWith("shell:") && name !== shellOf(round.version));
  if (!names.length) return;
  const used = new Set((await round.pages.matchAll()).map(({ headers }) => shellOf(headers.get("X-Shell"))));
  for (const name of names) if (!used.has(name)) await caches.delete(name);
};
const leftOut = async (round) => {
  let count = 0;
  for (const { pictures } of round.groups) {
    for (const address of pictures) if (!(await round.pictures.match(address))) count += 1;
  }
  return count;
};

const fetchAll = async (round, listed) => {
  await dropUnlisted(round.pages, round.groups.flatMap(({ pages }) => pages));
  await dropUnlisted(round.pictures, round.groups.flatMap(({ pictures }) => pictures));
  await keepShell(listed.version, listed.shell);
  for (const group of round.groups) await few(group.pages, (address) => page(address, group, round));
  await dropShells(round);
  for (const group of round.groups) await picturesOfGroup(group, round);
};
const begin = async (facts, person, listed, before) => ({
  facts, person, groups: listed.groups, version: listed.version, full: false, failed: 0, passed: { ...before?.passed },
  pages: await caches.open(pagesOf(person)), pictures: await caches.open(picturesOf(person)),
});
const told = async (round, listed, why) => {
  const bytes = (await sizes(round.pages)) + (await sizes(round.pictures));
  const passed = Object.fromEntries(round.groups.flatMap(({ pages }) => pages).filter((one) => round.passed[one]).map((one) => [one, round.passed[one]]));
  const done = { person: round.person, version: round.version, at: Date.now(), visits: listed.visits, until: listed.until, bytes, passed, failed: round.failed, full: round.full, leftOut: await leftOut(round), why };
  await setFact("packed", done);
  return done;
};

const once = async (facts, person, before) => {
  const answer = await ask(facts.pack, facts, { headers: { "X-Person": person } });
  if (answer.type === "opaqueredirect" || answer.status !== 200) return { ...before, person, why: "signed out" };
  const listed = await answer.json().catch(() => { throw new Unreachable(); });
  if (listed.person !== person) return { ...before, person, why: "signed out" };
  const round = await begin(facts, person, listed, before);
  let why = "";
  try {
    await fetchAll(round, listed);
  } catch (error) {
    if (!(error instanceof Unreachable) && !full(error) && !(error instanceof TypeError)) throw error;
    why = full(error) ? "full" : "unreachable";
  }
  return told(round, listed, why);
};

let running = null;
// One round; `soon`: something was saved, so that the list may be another now, also than a round found that is under way.
// A round that did not get all is no reason to wait: the next page that opens asks again. Answers what is told on My day.
export const pack = async (facts, { soon = false } = {}) => {
  if (soon) await running?.catch(() => {});
  const person = await fact("person");
  const before = await fact("packed");
  if (!person) return null;
  const fresh = before?.person === person && before.version === facts.version && !before.why && Date.now() - before.at < OFTEN;
  if (fresh && !soon) return before;
  running ??= once(facts, person, before?.person === person ? before : null)
    .catch((error) => {
      if (!(error instanceof Unreachable)) throw error;
      return { ...before, person, why: "unreachable" };
    })
    .finally(() => { running = null; });
  return running;
};
