// On every page of somebody signed in: says who it is, and for those who do the work has the service worker (worker.js) put
// the pages of the next days on this phone. On My day it says what is there.

import { fact, person, setFact } from "./device.js";

const who = person();
const worker = navigator.serviceWorker;
const does = document.querySelector("meta[name=phone]")?.content; // the worker's address, for those who do the work
const PACKED = document.body?.dataset.packed;
const SOON = 5_000; // after something was saved: more may follow

const post = async (message) => {
  const here = await (does ? worker.ready : worker.getRegistration("/"));
  here?.active?.postMessage(message);
};
const ask = (soon = false) => post({ name: "pack", soon });

// --- what is on this phone, in words ---

const LONDON = { timeZone: "Europe/London" };
const size = (bytes) => `${(bytes / 1e6).toFixed(1)} MB`;
const visits = (count) => (count === 1 ? "1 visit" : `${count} visits`);
const moment = (at) => {
  const hour = new Date(at).toLocaleTimeString("en-GB", { ...LONDON, hour: "2-digit", minute: "2-digit" });
  const day = new Date(at).toLocaleDateString("en-GB", LONDON);
  return day === new Date().toLocaleDateString("en-GB", LONDON) ? hour : `${hour} on ${day}`;
};
const wrong = ({ why, full, leftOut, failed }) => {
  if (why === "signed out") return "Sign in again: until then nothing new comes onto this phone.";
  if (why === "full") return "This phone is full: not all pages are on it. Free some space, then open this page again.";
  if (full && leftOut) return `This phone is full: ${leftOut === 1 ? "1 picture is" : `${leftOut} pictures are`} not on it. The pages are.`;
  if (why === "unreachable") return "Not all of it could be fetched: open this page again where there is signal.";
  if (failed) return `${failed === 1 ? "1 page" : `${failed} pages`} could not be fetched.`;
  return "";
};
export const words = (packed) => {
  if (!packed?.at) return packed?.why ? wrong(packed) : "";
  const { visits: count, until, bytes, at } = packed;
  return [`On this phone: ${visits(count)} until ${until}, ${size(bytes)}, as of ${moment(at)}.`, wrong(packed)].filter(Boolean).join(" ");
};
const show = async (packed) => {
  const place = document.querySelector("#on-this-phone");
  const known = packed ?? (await fact("packed"));
  if (!place || (known && known.person !== who)) return;
  place.textContent = words(known);
  place.hidden = !place.textContent;
};

// --- when ---

const begin = async () => {
  // A page from the phone was fetched at another time, perhaps for another person: only the network's says who is signed in.
  if (!PACKED) {
    await setFact("person", who);
    if (await worker.getRegistration("/")) await post({ name: "person", person: who });
  }
  if (!does) return;
  await worker.register(does, { scope: "/", updateViaCache: "none" });
  navigator.storage?.persist?.();
  await ask();
};
let soon = 0;
if (who && worker && "indexedDB" in window) {
  begin().catch(() => {}); // a browser that keeps nothing: pages work as before
  if (does) {
    new BroadcastChannel("phone").addEventListener("message", ({ data }) => show(data.packed));
    addEventListener("online", () => ask());
    document.addEventListener("visibilitychange", () => document.hidden || ask());
    document.addEventListener("kept:saved", () => {
      clearTimeout(soon);
      soon = setTimeout(ask, SOON, true);
    });
    document.addEventListener("kept:unreachable", async () => (await worker.ready).sync?.register("outbox").catch(() => {}));
    show();
  }
}
