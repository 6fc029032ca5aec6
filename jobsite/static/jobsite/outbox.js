// Sends what is kept on this device, one after another, until the server says that it is saved: at once, when the network
// comes back, and every half minute. Only then it is forgotten. The same record again is harmless: it carries the row's id.
// A page shows what has not gone out yet, and asks before somebody signs out and leaves it behind.

import { alone, forget, keep, kept, person } from "./device.js";
import { forgetTab } from "./keep.js";

const EVERY = 30_000;
const token = () => /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie)?.[1] ?? "";
const tell = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail }));
const sentence = (html) => {
  const wrongs = new DOMParser().parseFromString(html, "text/html").querySelectorAll(".wrongs li, .wrongs p");
  return [...wrongs].map((wrong) => wrong.textContent.trim()).join(" ");
};

// Answers { outcome: "saved" | "refused" | "failed" | "stopped" | "unreachable", html, to, why, ended }.
// "ended": what it was typed for takes nothing more, so that its form, if it still stands here, is of no use.
// "failed": answered, but not saved, and not for what was typed; it may go well later, and the next ones may at once.
const post = (record) =>
  new Promise((done) => {
    if (!navigator.onLine) return done({ outcome: "unreachable" });
    const body = new FormData();
    record.fields.forEach(([name, value]) => body.append(name, value));
    record.photos.forEach(({ name, file }) => body.append(name, file, file.name || "photo.jpg"));
    const call = new XMLHttpRequest();
    call.open("POST", record.action);
    call.timeout = 30_000 + 10_000 * record.photos.length;
    call.setRequestHeader("X-CSRFToken", token());
    call.setRequestHeader("HX-Request", "true");
    call.setRequestHeader("X-Kept", record.key);
    call.setRequestHeader("X-Person", person);
    call.upload.onprogress = (part) => tell("kept:progress", { key: record.key, sent: part.loaded, of: part.total });
    call.onerror = call.ontimeout = call.onabort = () => done({ outcome: "unreachable" });
    call.onload = () => {
      const html = call.responseText;
      const to = call.getResponseHeader("HX-Redirect");
      if (call.getResponseHeader("X-Saved") === record.key) done({ outcome: "saved", html, to });
      else if (call.status === 422) done({ outcome: "refused", html, why: sentence(html) });
      else if (call.status >= 500) done({ outcome: "failed", why: FAILED });
      else if (call.status === 429) done({ outcome: "failed", why: TOO_MANY });
      else if (call.status === 413) done({ outcome: "refused", why: TOO_LARGE });
      else if (call.status === 409) done({ outcome: "refused", ended: true, why: sentence(html) });
      else if (call.status >= 400 && !html.includes(SOMEBODY_ELSE)) done({ outcome: "refused", why: GONE });
      else if (call.status >= 400 || html.includes(SIGNING_IN)) done({ outcome: "stopped", why: SIGN_IN });
      else done({ outcome: "refused", ended: true, why: GONE }); // answered by another page: there is no form for it any more
    };
    return call.send(body);
  });
const GONE = "What it belongs to is no longer there, or not yours to change.";
const TOO_LARGE = "It is too large to be sent. Take a photo off, or put in a smaller one.";
const FAILED = "Something went wrong on the server. It is kept on this device and tried again by itself.";
const TOO_MANY = "The server was sent too much in a short time. It is kept on this device and tried again by itself.";
const SOMEBODY_ELSE = "Somebody else signed in on this device"; // as the server says it
const SIGNING_IN = 'name="password"'; // the page that is answered to whoever is not signed in
const SIGN_IN = "Sign in again: it is sent then.";

// Sends one record and settles what becomes of it.
export const send = async (record) => {
  const answer = await post(record);
  if (answer.outcome === "saved") await forget(record.key);
  if (answer.outcome === "refused") await keep({ ...record, state: "refused", why: answer.why });
  if (answer.outcome === "failed") await keep({ ...record, why: answer.why });
  tell(`kept:${answer.outcome}`, { record, answer });
  return answer;
};

// The network may come back in the middle of a round that just found none, or while another tab or form is sending: then
// once more, and not only half a minute later.
const SOON = 2_000;
let running = false;
let asked = false;
const round = (mine) => {
  if (!mine) return setTimeout(sendAll, SOON);
  return kept().then(async (found) => {
    for (const record of found.filter((one) => one.state === "waiting")) {
      const { outcome } = await send(record);
      if (outcome === "unreachable" || outcome === "stopped") break;
    }
  });
};
export const sendAll = async () => {
  asked = running;
  if (running || !person) return;
  running = true;
  try {
    do {
      asked = false;
      await alone("outbox", round, { ifAvailable: true });
    } while (asked);
  } finally {
    running = false;
  }
  await show();
};

const element = (name, text, more = {}) => Object.assign(document.createElement(name), { textContent: text, ...more });
const button = (text, does) => {
  const made = element("button", text, { type: "button", className: "button" });
  made.addEventListener("click", does);
  return made;
};
const time = (at) => new Date(at).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });

// What is tried again may be on its way, or saved by now: wait for that, and leave alone what is gone.
const unlessSent = (record, work) =>
  record.state === "refused" ? work() : alone("outbox", async () => {
    if ((await kept()).some((one) => one.key === record.key)) await work();
  });

const line = (record) => {
  const row = element("li", "");
  row.append(element("strong", record.what), element("span", ` typed ${time(record.at)}. `, { className: "soft" }));
  row.append(record.why ? `Not saved: ${record.why} ` : "Waits for the network. ");
  const acts = element("span", "", { className: "acts" });
  if (record.why) {
    acts.append(button("Put it right", () => unlessSent(record, async () => {
      await keep({ ...record, state: "typed", at: Date.now() });
      location.assign(record.page);
      if (location.pathname === record.page) location.reload();
    })));
    const away = button("Throw it away", async () => {
      if (away.textContent === "Throw it away") return (away.textContent = "Throw it away for good");
      await unlessSent(record, () => forget(record.key));
      await show();
    });
    acts.append(away);
  }
  row.append(acts);
  return row;
};

// Of what was refused and is to be put right: whether a form for it stands here, which takes it up.
const formFor = (record) =>
  [...document.querySelectorAll("form[data-hold]")].some(({ dataset }) => [dataset.hold, dataset.holdAlso].includes(record.form));
const listed = (record) => record.state !== "typed" || (record.why && !formFor(record));

// The list of what has not gone out stands first on every page of its person.
export const show = async () => {
  const rows = (await kept()).filter(listed);
  document.querySelector("#not-sent")?.remove();
  if (!rows.length) return;
  const sheet = element("section", "", { id: "not-sent", className: "sheet" });
  sheet.setAttribute("aria-labelledby", "not-sent-head");
  const head = element("header", "");
  head.append(element("h2", "Kept on this device, not saved yet", { id: "not-sent-head" }));
  const list = element("ul", "", { className: "plainlist" });
  list.append(...rows.map(line));
  sheet.append(head, list);
  if (rows.some((one) => one.state === "waiting")) {
    const acts = element("p", "", { className: "acts" });
    acts.append(button("Send now", sendAll));
    sheet.append(acts);
  }
  document.querySelector("#main").prepend(sheet);
};

// On a shared phone what one person typed is neither shown to the next nor sent in their name; it stays for its person.
const leaving = document.querySelector("form[data-leaving]");
const leave = () => {
  forgetTab();
  leaving.submit();
};
const ask = (count) => {
  const asked = element("dialog", "");
  asked.setAttribute("aria-labelledby", "leaving-head");
  const what = count === 1 ? "1 form is" : `${count} forms are`;
  asked.append(element("h2", `${what} kept on this device and not saved`, { id: "leaving-head" }));
  asked.append(element("p", "They stay here for you alone: nobody else who signs in sees or sends them. They go out when you sign in here again."));
  const acts = element("p", "", { className: "acts" });
  acts.append(
    button("Stay signed in", () => asked.close()),
    button("Sign out, keep them here", leave),
    button("Sign out, throw them away", async () => {
      for (const one of await kept()) await forget(one.key);
      leave();
    }),
  );
  asked.append(acts);
  asked.addEventListener("close", () => asked.remove());
  document.body.append(asked);
  asked.showModal();
};
leaving?.addEventListener("submit", (press) => {
  press.preventDefault();
  kept().then((found) => (found.length ? ask(found.length) : leave()), leave);
});

if (person && "indexedDB" in window) {
  addEventListener("online", sendAll);
  setInterval(sendAll, EVERY);
  sendAll().catch(() => {}); // a browser that keeps nothing (a private window): forms work as before
}
