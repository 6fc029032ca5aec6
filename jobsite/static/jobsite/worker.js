// The service worker of an engineer's phone: pages of the next days open without signal. `jobsite/phone.py` begins it with
//   service   what every answer of ours says in X-Service: nothing else is ours
//   version, shell, static   style and scripts, and below which address they stand
//   pack, here, nothing      what belongs on the phone; a word from us; the page for what is not on the phone
// Pages come from the network first, and from the phone when that does not answer in time or somebody else does. Scripts and
// style come by their exact address, which names their version, so that a page always meets its own. Nothing that is sent
// is touched, but for signing in and out, of which the outcome must be known.

import { fact, setFact } from "./device.js";
import { isOurs, keepOnlyFor, keepShell, openPage, pack, pagesOf, picturesOf, shellOf } from "./packing.js";
import { sendForPerson } from "./sending.js";

const PATIENCE = 2_500; // so long the network has for a page that is on the phone
const ACCOUNTS = "/accounts/";
const SIGNING_OUT = "/accounts/logout/";

const later = (time, value) => new Promise((done) => { setTimeout(done, time, value); });

export const begin = (facts) => {
  const shelves = facts.static.slice(0, facts.static.indexOf("/", 1) + 1);

  // Whether it is us who are reached here: a redirect does not say.
  const reached = async () => {
    try {
      const word = await fetch(facts.here, { redirect: "manual", cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
      return isOurs(word, facts.service);
    } catch {
      return false;
    }
  };
  const ours = async (answer) => (answer.type === "opaqueredirect" ? reached() : isOurs(answer, facts.service));

  // --- pages ---

  const onPhone = async (url) => {
    const person = await fact("person").catch(() => "");
    if (!person) return undefined;
    return (await caches.open(pagesOf(person))).match(url.pathname + url.search);
  };
  const nothing = async () => (await caches.match(facts.nothing, { cacheName: shellOf(facts.version) })) ?? Response.error();
  const fromNetwork = async (request) => {
    try {
      const answer = await fetch(request);
      // A gateway of ours that finds no server behind it says so; better that than a page which blames the network.
      return (await ours(answer)) ? { answer } : { otherwise: answer.status >= 400 ? answer : null };
    } catch {
      return {};
    }
  };
  const open = async (request, url) => {
    const kept = await onPhone(url);
    if (kept && navigator.onLine === false) return openPage(kept);
    const asked = fromNetwork(request);
    const { answer, otherwise } = await (kept ? Promise.race([asked, later(PATIENCE, {})]) : asked);
    if (answer) return answer;
    return kept ? openPage(kept) : otherwise ?? nothing();
  };

  // --- what pages stand in, and pictures ---

  const fromShell = async (request) => {
    for (const name of await caches.keys()) {
      const kept = name.startsWith("shell:") && (await caches.match(request.url, { cacheName: name }));
      if (kept) return kept;
    }
    return fetch(request);
  };
  const picture = async (request, url) => {
    const person = await fact("person").catch(() => "");
    const cache = person ? await caches.open(picturesOf(person)) : null;
    const kept = await cache?.match(url.pathname + url.search);
    if (kept) return kept;
    try {
      return await fetch(request);
    } catch {
      return (await cache?.match(`${url.pathname}?small`)) ?? Response.error(); // the whole one is not here
    }
  };

  // --- signing in and out ---

  // Until a page says who is signed in now, no page from the phone is shown; who signs out leaves none behind.
  const signing = async (request, url) => {
    let answer;
    try {
      answer = await fetch(request);
    } catch {
      return nothing();
    }
    if (await ours(answer)) {
      if (url.pathname === SIGNING_OUT) await keepOnlyFor("");
      await setFact("person", "");
    }
    return answer;
  };

  // --- events ---

  const tell = (packed) => new BroadcastChannel("phone").postMessage({ packed });
  const heard = {
    person: ({ person }) => keepOnlyFor(person),
    pack: async ({ soon }) => tell(await pack(facts, { soon })),
  };
  self.addEventListener("message", (event) => {
    const work = heard[event.data?.name];
    if (work) event.waitUntil(work(event.data));
  });
  self.addEventListener("install", (event) => {
    self.skipWaiting();
    event.waitUntil(keepShell(facts.version, [...facts.shell, { address: facts.nothing }]));
  });
  // Renewed: the pages of the day are fetched again, and stand in the new shell; the old one goes with the last that needs it.
  self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim().then(() => heard.pack({}))));
  self.addEventListener("sync", (event) => {
    if (event.tag === "outbox") event.waitUntil(sendForPerson());
  });
  self.addEventListener("fetch", (event) => {
    const { request } = event;
    const url = new URL(request.url);
    if (url.origin !== location.origin) return;
    if (request.mode === "navigate" && request.method === "POST" && url.pathname.startsWith(ACCOUNTS)) {
      event.respondWith(signing(request, url));
    } else if (request.method !== "GET") return;
    else if (request.mode === "navigate") event.respondWith(open(request, url));
    else if (url.pathname.startsWith(shelves)) event.respondWith(fromShell(request));
    else if (request.destination === "image") event.respondWith(picture(request, url));
  });
};
