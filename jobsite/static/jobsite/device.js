// What is kept on this device until the server has said that it saved it: forms as they were typed, with their
// photographs, for each person apart. Pages and the service worker use it alike. A record is
//   key      person, form and the row's id while it is typed; with `once` behind it when it is to be sent
//   person, form, action, page, what     whose, which, where it is sent, where it was typed, in words
//   fields   [[name, value], …] as they are sent; photos [{name, file}, …]
//   state    "typed" (not sent yet), "waiting" (to be sent), "refused" (put it right)
//   why      what the server answered when it was sent and not saved; "waiting" with one is tried again
//   html     the refused form as the server answered it, both values included where somebody else was faster
//   once     the key by which the server knows it again (Idempotency-Key), the same however often it is tried
//   made     when the person sent it off, milliseconds by this device; it stays when it is put right later
//   turn     its place among the others: of one `group` none overtakes another ("": it stands for itself)
//   kind, label    what it is for those who show it ("photo", "reading", …), and in words
//   at       when it was typed, milliseconds
// A second store, `phone`, holds small facts by name: who is signed in here, which rows were made here.

const NAME = "kept";
const FACTS = "phone";
const VERSION = 2;

const steps = (asked, old) => {
  const base = asked.result;
  if (old < 1) base.createObjectStore(NAME, { keyPath: "key" }).createIndex("person", "person");
  if (old < 2) base.createObjectStore(FACTS);
  if (old !== 1) return;
  asked.transaction.objectStore(NAME).openCursor().onsuccess = ({ target }) => {
    const at = target.result;
    if (!at) return;
    const { value } = at;
    const sent = value.state === "waiting" ? { once: newId(), made: value.at } : {};
    at.update({ group: "", kind: "", label: "", turn: value.at, ...sent, ...value });
    at.continue();
  };
};
const open = (version = VERSION) =>
  new Promise((found, failed) => {
    const asked = indexedDB.open(NAME, version);
    asked.onupgradeneeded = ({ oldVersion }) => steps(asked, oldVersion);
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      found(asked.result);
    };
    // A page older than what another page has made of it: the stores are there all the same.
    asked.onerror = () => (asked.error.name === "VersionError" ? open(undefined).then(found, failed) : failed(asked.error));
  });
const inStore = async (name, mode, work) => {
  const base = await open();
  try {
    return await new Promise((done, failed) => {
      const change = base.transaction(name, mode);
      const asked = work(change.objectStore(name));
      change.oncomplete = () => done(asked.result);
      change.onabort = change.onerror = () => failed(change.error);
    });
  } finally {
    base.close();
  }
};

// After any change, in whichever tab or in the worker: an event "kept:changed" on the document of every page.
const inPage = typeof document !== "undefined";
const channel = typeof BroadcastChannel === "undefined" ? null : new BroadcastChannel(NAME);
export const tell = (name, detail = {}) => inPage && document.dispatchEvent(new CustomEvent(name, { detail }));
export const changed = () => {
  tell("kept:changed");
  channel?.postMessage("changed");
};
if (inPage && channel) channel.onmessage = () => tell("kept:changed");
const andTell = async (work) => {
  const answer = await work;
  changed();
  return answer;
};

// Who this page is for; "" in the worker, which asks fact("person").
export const person = () => (inPage && document.querySelector("meta[name=person]")?.content) || "";
export const keep = (record) => andTell(inStore(NAME, "readwrite", (store) => store.put(record)));
export const forget = (key) => andTell(inStore(NAME, "readwrite", (store) => store.delete(key)));
// `records` take the place of what is under `keys`: all of it or nothing.
export const keepInstead = (keys, ...records) =>
  andTell(inStore(NAME, "readwrite", (store) => {
    keys.forEach((key) => store.delete(key));
    return records.map((record) => store.put(record)).at(-1) ?? {};
  }));
// What is still there under the key of `record` becomes `record`; what was thrown away or replaced meanwhile stays away.
export const change = (record) =>
  andTell(inStore(NAME, "readwrite", (store) => {
    const asked = store.count(record.key);
    asked.onsuccess = () => asked.result && store.put(record);
    return asked;
  }));
export const found = (key) => inStore(NAME, "readonly", (store) => store.get(key));
// All of one person, in their turn.
export const kept = async (who = person()) => {
  const all = await inStore(NAME, "readonly", (store) => store.index("person").getAll(who));
  return all.sort((one, other) => (one.turn ?? one.at) - (other.turn ?? other.at) || one.at - other.at);
};
// What was sent off in `group` and is not saved yet, in its turn: what a page lays over what the server wrote.
export const waitingFor = async (group, who = person()) =>
  (await kept(who)).filter((one) => one.group === group && (one.state !== "typed" || one.why));

export const fact = (name) => inStore(FACTS, "readonly", (store) => store.get(name));
export const setFact = (name, value) => inStore(FACTS, "readwrite", (store) => store.put(value, name));

// A key as the server makes them (RFC 9562, version 7): the time in front, the rest by chance.
export const newId = (now = Date.now()) => {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let n = 0; n < 6; n += 1) bytes[n] = Math.floor(now / 2 ** (8 * (5 - n))) % 256;
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
};

// Held by one tab at a time; without locks (an address that is not secure) every tab may.
export const alone = (name, work, options = {}) =>
  globalThis.navigator?.locks ? navigator.locks.request(`${NAME}:${name}`, options, work) : work(true);
