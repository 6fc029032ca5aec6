// Stands on every page: sends what is kept on this device when the page opens, when the network comes back, when the page
// comes to the front and every half minute (sending.js says how), counts in the head what has not gone out, lists it on
// demand, and asks before somebody signs out and leaves it behind.

import { alone, fact, forget, found, keepInstead, kept, newId, person, setFact } from "./device.js";
import { before, PORTAL, sendAll, sentence } from "./sending.js";

const EVERY = 30_000;
const element = (name, text, more = {}) => Object.assign(document.createElement(name), { textContent: text, ...more });
const button = (text, does) => {
  const made = element("button", text, { type: "button", className: "button" });
  made.addEventListener("click", does);
  return made;
};
const time = (at) => new Date(at).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });

// --- the list ---

// What is tried again may be on its way, or saved by now: wait for that, and leave alone what is gone.
const unlessSent = (record, work) =>
  record.state === "refused" ? work() : alone("outbox", async () => {
    if (await found(record.key)) await work();
  });
const putRight = (record) => unlessSent(record, async () => {
  const now = await found(record.key); // in another tab more may have been typed since, or it was put right there
  if (now) await keepInstead([], { ...now, state: "typed", why: now.why || sentence(now.html), at: Date.now() });
  location.assign(record.page);
  if (location.pathname + location.search === record.page) location.reload();
});
// What no form takes up again (a photo): as it is, but as something new, since the answer to the former stands.
const tryAgain = (record) => unlessSent(record, async () => {
  await keepInstead([record.key], { ...record, key: `${record.key.slice(0, -36)}${newId()}`, once: newId(), state: "waiting", why: "" });
  sendAll();
});
const throwAway = (record) => {
  const away = button("Throw it away", async () => {
    if (away.textContent === "Throw it away") return (away.textContent = "Throw it away for good");
    return unlessSent(record, () => forget(record.key));
  });
  return away;
};
const wordsFor = (record, all) => {
  const why = record.why || (record.html && sentence(record.html));
  if (why) return `Not saved: ${why} `;
  if (record.state === "refused") return "Not saved. ";
  return before(record, all).length ? "Waits for the one before it. " : "Waits for the network. ";
};
const line = (record, all) => {
  const row = element("li", "");
  const what = record.label && record.label !== record.what ? `${record.label}: ${record.what}` : record.what;
  row.append(element("strong", what), element("span", ` typed ${time(record.made ?? record.at)}. `, { className: "soft" }));
  row.append(wordsFor(record, all));
  const acts = element("span", "", { className: "acts" });
  if (record.why || record.state === "refused") {
    acts.append(record.again ? button("Try again", () => tryAgain(record)) : button("Put it right", () => putRight(record)));
  }
  if (record.why || record.state === "refused" || before(record, all).length) acts.append(throwAway(record));
  row.append(acts);
  return row;
};

// What keeps all of it from going out, as it was found last.
const hindrance = (network, head) => {
  if (!network || Date.now() - network.at > 10 * 60_000) return "";
  if (network.portal) return element("p", PORTAL, { className: "caution" });
  if (network.outcome !== "stopped") return "";
  const said = element("p", "You are no longer signed in here. Nothing is lost. ", { className: "caution" });
  const here = encodeURIComponent(location.pathname + location.search);
  said.append(element("a", "Sign in again: it is sent then.", { href: `${head.dataset.signIn}?next=${here}` }));
  return said;
};

// Of what was refused and is to be put right: whether a form for it stands here, which takes it up.
const formFor = (record) =>
  [...document.querySelectorAll("form[data-hold]")].some(({ dataset }) => [dataset.hold, dataset.holdAlso].includes(record.form));
const listed = (record) => record.state !== "typed" || (record.why && !formFor(record));

const head = document.querySelector("[data-waits]");
const count = (rows) => {
  const wrong = rows.filter(({ state }) => state !== "waiting").length;
  const said = [rows.length - wrong && `${rows.length - wrong} waiting`, wrong && `${wrong} refused`].filter(Boolean).join(", ");
  if (!head) return;
  if (head.textContent !== said) head.textContent = said;
  head.hidden = !said;
};
let opened; // whether the person opened or closed the list
const madeSheet = () => {
  const made = element("details", "", { id: "not-sent", className: "sheet" });
  made.append(element("summary", ""), element("div", ""), element("ul", "", { className: "plainlist" }), element("p", "", { className: "acts" }));
  made.addEventListener("click", ({ target }) => { if (target.closest("summary")) opened = !made.open; });
  return made;
};
// What of a part is as it was stays where it is: nothing is taken away from under a finger, and what was pressed once for
// all ("Throw it away") is not forgotten.
const drawn = new WeakMap(); // a part and what it was drawn from
const put = (part, from, draw) => {
  if (drawn.get(part) === from) return;
  drawn.set(part, from);
  part.replaceChildren(...draw());
};
const drawLines = (list, rows, all) => {
  const wanted = rows.map((record) => ({ record, from: JSON.stringify([record.key, record.state, record.what, record.label, wordsFor(record, all), before(record, all).length > 0]) }));
  const there = new Map([...list.children].map((row) => [drawn.get(row), row]));
  const stays = new Set(wanted.map(({ from }) => from));
  for (const [from, row] of there) if (!stays.has(from)) row.remove();
  wanted.forEach(({ record, from }, n) => {
    const row = there.get(from) ?? line(record, all);
    drawn.set(row, from);
    if (list.children[n] !== row) list.insertBefore(row, list.children[n] ?? null);
  });
};
const sheet = madeSheet();
let drawing = 0;
const show = async () => {
  const mine = (drawing += 1);
  const [all, network] = await Promise.all([kept(), fact("network")]);
  if (mine !== drawing) return; // somebody else looked later, and draws it
  const rows = all.filter(listed);
  count(rows);
  if (!rows.length) {
    sheet.open = false;
    return sheet.remove();
  }
  const [summary, hindered, list, acts] = sheet.children;
  put(summary, `${rows.length}`, () => [`Kept on this device, not saved yet: ${rows.length}`]);
  const why = hindrance(network, head ?? document.body);
  put(hindered, why && why.outerHTML, () => (why ? [why] : []));
  drawLines(list, rows, all);
  const some = rows.some(({ state }) => state === "waiting");
  put(acts, `${some}`, () => (some ? [button("Send now", () => sendAll())] : []));
  // Once open it stays so: it must not fold under the finger of who has just thrown away the last that was refused.
  sheet.open = opened ?? (sheet.open || location.hash === "#not-sent" || rows.some(({ why: wrong, state }) => wrong || state !== "waiting"));
  if (!sheet.isConnected) document.querySelector("#main").prepend(sheet);
};
let later = 0;
const showSoon = () => {
  clearTimeout(later);
  later = setTimeout(() => show().catch(() => {}), 30);
};
head?.addEventListener("click", () => { sheet.open = opened = true; });

// --- the clock of this phone, told once ---

const CLOCK = 60; // seconds: told again when it is wrong by so much more or less
const sayClock = async () => {
  const clock = await fact("clock");
  if (!clock || Math.abs(clock.off - (clock.told ?? 0)) < CLOCK) return;
  await setFact("clock", { ...clock, told: clock.off });
  const minutes = Math.round(Math.abs(clock.off) / 60);
  const words = `The clock of this phone is ${minutes} ${minutes === 1 ? "minute" : "minutes"} ${clock.off < 0 ? "slow" : "fast"}; both times are kept.`;
  const said = element("p", words, { className: "caution" });
  said.setAttribute("role", "status");
  document.querySelector("#main").prepend(said);
};

// --- signing out ---

// On a shared phone what one person typed is neither shown to the next nor sent in their name; it stays for its person.
const leaving = document.querySelector("form[data-leaving]");
const leave = () => {
  if (!navigator.onLine) return noSignal();
  document.dispatchEvent(new CustomEvent("kept:leaving")); // keep.js forgets what this tab keeps
  // The worker, where there is one, sees whether it went through: without signal its person stays signed in, and keeps the day.
  const forgotten = navigator.serviceWorker?.controller ? Promise.resolve() : setFact("person", "");
  forgotten.catch(() => {}).finally(() => leaving.submit());
};
// Without signal nobody can sign out: the phone must not be handed over as if somebody had.
const noSignal = () => {
  const said = element("dialog", "");
  said.setAttribute("aria-labelledby", "no-signal-head");
  said.append(element("h2", "No signal: you are still signed in on this phone", { id: "no-signal-head" }));
  said.append(element("p", "Signing out needs the network. Until then do not hand this phone to anybody; lock it."));
  const acts = element("p", "", { className: "acts" });
  acts.append(button("Understood", () => said.close()));
  said.append(acts);
  said.addEventListener("close", () => said.remove());
  document.body.append(said);
  said.showModal();
};
const ask = (number) => {
  const asked = element("dialog", "");
  asked.setAttribute("aria-labelledby", "leaving-head");
  const what = number === 1 ? "1 form is" : `${number} forms are`;
  asked.append(element("h2", `${what} kept on this device and not saved`, { id: "leaving-head" }));
  asked.append(element("p", "They stay here for you alone: nobody else who signs in sees or sends them. They go out when you sign in here again."));
  const acts = element("p", "", { className: "acts" });
  acts.append(
    button("Stay signed in", () => asked.close()),
    button("Sign out, keep them here", leave),
    button("Sign out, throw them away", async () => {
      if (!navigator.onLine) return noSignal();
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
  kept().then((all) => (all.length ? ask(all.length) : leave()), leave);
});

// A browser that keeps nothing (a private window): forms work as before.
const start = async () => {
  await setFact("person", person());
  await show();
  await sendAll();
  await sayClock();
  if ((await kept()).length) await navigator.storage?.persist?.(); // not to be cleared away when the phone runs short
};
if (person() && "indexedDB" in window) {
  document.addEventListener("kept:changed", showSoon);
  ["kept:saved", "kept:failed", "kept:refused", "kept:stopped", "kept:unreachable"].forEach((name) =>
    document.addEventListener(name, () => {
      showSoon();
      sayClock().catch(() => {});
    }));
  addEventListener("online", () => sendAll());
  document.addEventListener("visibilitychange", () => document.hidden || sendAll());
  setInterval(() => sendAll(), EVERY);
  start().catch(() => {});
}
