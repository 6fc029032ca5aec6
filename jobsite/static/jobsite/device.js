// What is kept on this device until the server has said that it saved it: forms as they were typed, with their
// photographs, for each person apart. A record is
//   key      person, form and the row's id: one typed form
//   person, form, action, page, what     whose, which, where it is sent, where it was typed, in words
//   fields   [[name, value], …] as they are sent; photos [{name, file}, …]
//   state    "typed" (not sent yet), "waiting" (to be sent), "refused" (put it right)
//   why      what the server answered when it was sent and not saved; "waiting" with one is tried again
//   at       when it was typed, milliseconds

const NAME = "kept";
const open = () =>
  new Promise((found, failed) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(NAME, { keyPath: "key" }).createIndex("person", "person");
    asked.onsuccess = () => found(asked.result);
    asked.onerror = () => failed(asked.error);
  });
const inStore = async (mode, work) => {
  const base = await open();
  try {
    return await new Promise((done, failed) => {
      const change = base.transaction(NAME, mode);
      const asked = work(change.objectStore(NAME));
      change.oncomplete = () => done(asked.result);
      change.onabort = change.onerror = () => failed(change.error);
    });
  } finally {
    base.close();
  }
};

export const person = document.querySelector("meta[name=person]")?.content ?? "";
export const keep = (record) => inStore("readwrite", (store) => store.put(record));
export const forget = (key) => inStore("readwrite", (store) => store.delete(key));
export const kept = async () => {
  const found = await inStore("readonly", (store) => store.index("person").getAll(person));
  return found.sort((one, other) => one.at - other.at);
};

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
  navigator.locks ? navigator.locks.request(`${NAME}:${name}`, options, work) : work(true);
