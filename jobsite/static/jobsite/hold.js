// A form with data-hold loses nothing: what is typed is kept on this device (device.js) from the first letter, offered
// again when the form is opened again, sent when there is a network (sending.js), forgotten once the server has saved it.
//   data-hold="observation:KEY"   which form it is; with a field `id` each row to be made is kept by itself, else what is
//                                 sent takes the place of what still waits of the same form
//   data-hold-next                when it is sent, the next empty one opens at once; fields with data-stays stay as they are
//   data-hold-swap                on what surrounds the form: there the answer is put when something is wrong
//   data-hold-also="observation:KEY"  another form whose refused rows are put right in this one (a reissue, for its report)
//   data-hold-row="o-KEY"         the row on the page that the form stands in: the answer takes its place
//   data-hold-group="remedial:KEY"  of one group nothing overtakes what was sent before it; {id} stands for the form's id
//   data-hold-kind="reading"      what it is, for those who show what waits; data-hold-label="…" the same in words
//   data-hold-photos="/observations/{id}/photos/new/"  photos follow on their own, to there, once the form is saved; those
//                                 of a file input with data-hold-here stay in the form
//   data-hold-each                each photo chosen goes on its own at once, and the form stays (each.js)
//   data-hold-then="/address/"    where to go when it is kept and could not be sent yet
//   data-hold-refresh="#photos"   when saved, these parts of this page are fetched anew, and nothing else of it changes

import { draw, take } from "./chosen.js";
import { alone, fact, forget, keep, keepInstead, kept, newId, person, setFact, tell } from "./device.js";
import { eachOf } from "./each.js";
import { next, refresh, saved, showRefused } from "./answers.js";
import { asOfNow, byTheClock, startAgain } from "./now.js";
import { deliver, followersOf, sendAll, sendUnkept } from "./sending.js";

const SKIPPED = ["csrfmiddlewaretoken", "next"];
const PATIENCE = 3000; // so long the next one waits for the answer; after that it goes on and the answer comes when it comes
const NO_NETWORK = "No network. It is kept on this device and goes out by itself when there is.";
const BEHIND = "It is kept on this device and waits for the one before it, which is not saved yet.";
const LATE = "It is kept on this device and on its way.";
const NOT_KEPT = "This device keeps nothing (a private window, or it is full): stay on this page until it is saved.";
const PHOTOS_NOT_KEPT = "This device is full: the words are kept, the photos are not. Stay on this page until it is saved.";
const NOWHERE = "This device is full or keeps nothing, and the server cannot be reached: all of it stands on this page alone. Stay on it, and press again when there is a network.";
const states = new WeakMap();

const fieldsOf = (form) =>
  [...new FormData(form)].filter(([name, value]) => typeof value === "string" && !SKIPPED.includes(name));
const typed = (form) => JSON.stringify(fieldsOf(form).filter(([name]) => name !== "id" && !byTheClock(form, name)));
const idField = (form) => form.elements.namedItem("id");
const draftKey = (form) => [person(), form.dataset.hold, idField(form)?.value].filter(Boolean).join(":");
const addressOf = (place) => new URL(place, location).pathname + new URL(place, location).search;
const words = (form) => {
  const text = ["text", "what", "extent"].map((name) => form.elements.namedItem(name)?.value).find(Boolean);
  return (text || form.dataset.holdLabel || document.querySelector("h1")?.textContent || "").trim().slice(0, 80);
};
let last = 0;
const nextTurn = () => (last = Math.max(Date.now(), last + 1));

// What the form holds now: a draft under its own key, or what is to be sent, under one that no other will ever have.
const recordOf = (form, state) => {
  const { photos, turn, made, why, html, group: its } = states.get(form);
  const { hold, holdRow, holdGroup = "", holdKind = "", holdLabel = "", holdPhotos } = form.dataset;
  const once = newId();
  const group = holdGroup || (holdPhotos ? `${hold}:{id}` : "");
  const common = {
    person: person(),
    form: hold,
    action: addressOf(form.action),
    page: holdRow ? addressOf(form.action) : location.pathname + location.search,
    what: words(form),
    fields: fieldsOf(form),
    photos: [...photos],
    state,
    group: its ?? group.replace("{id}", idField(form)?.value ?? ""),
    kind: holdKind,
    label: holdLabel,
    at: Date.now(),
  };
  if (state === "typed") return { ...common, key: draftKey(form), ...(turn ? { turn, made } : {}), ...(why ? { why, html } : {}) };
  return { ...common, key: `${draftKey(form)}:${once}`, once, made: made ?? Date.now(), turn: turn ?? nextTurn() };
};

const note = (form, text, more) => {
  form.querySelector(".kept-note")?.remove();
  if (!text) return;
  const said = Object.assign(document.createElement("p"), { className: "caution kept-note", textContent: `${text} ` });
  said.setAttribute("role", "status");
  if (more) said.append(more);
  form.prepend(said);
};
const time = (at) => new Date(at).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });

// --- while it is typed ---

const write = async (form) => {
  const state = states.get(form);
  if (!state || state.sending || !form.isConnected || form.hasAttribute("data-hold-each")) return;
  clearTimeout(state.timer);
  await state.ready; // under its own key, and not before what was typed earlier is back
  if (state.sending || !form.isConnected) return;
  const changed = state.why || typed(form) !== state.first || state.photos.length > 0;
  const record = recordOf(form, "typed");
  try {
    if (changed) await keep(record);
    else await forget(record.key);
  } catch {
    note(form, NOT_KEPT);
    if (changed && record.photos.length) keep({ ...record, photos: [] }).then(() => note(form, PHOTOS_NOT_KEPT), () => {});
  }
};
const soon = (form) => {
  const state = states.get(form);
  clearTimeout(state.timer);
  state.timer = setTimeout(() => write(form), 200);
};
const redraw = (form) => draw(form, states.get(form), () => soon(form));
// A browser does not send files twice, but this device kept them: the form that came back says so.
const sayKept = (form) => {
  const count = states.get(form).photos.length;
  const again = form.querySelector("[data-files-again]");
  if (!again || !count) return;
  again.textContent = `${count === 1 ? "The file that you chose is kept and goes" : `The ${count} files that you chose are kept and go`} with it when you save again.`;
};

// --- whose row it is ---

// A page that is opened again from the phone, or by the back button, brings the key of a row that was made already: what
// is typed now is another row. Only the very same form sent again (back, and pressed once more) is the same row.
const digest = (form) => {
  const photos = states.get(form).photos.map(({ file }) => `${file.name}:${file.size}`);
  let sum = 0x811c9dc5; // FNV-1a, 32 bits
  for (const letter of typed(form) + photos) sum = Math.imul(sum ^ letter.codePointAt(0), 0x01000193) >>> 0;
  return `${sum}`;
};
const freshId = async (form) => {
  const id = idField(form);
  if (!id || form.querySelector(".wrongs")) return;
  const was = { id: id.value, digest: ((await fact("rows")) ?? {})[id.value] };
  if (!was.digest && !document.body.dataset.packed) return;
  id.value = newId();
  states.get(form).was = was.digest ? was : undefined;
};
const sameAgain = (form) => {
  const { was } = states.get(form);
  const opened = performance.getEntriesByType("navigation")[0]?.type;
  if (was && opened !== "navigate" && was.digest === digest(form)) idField(form).value = was.id;
};
const remember = async (form) => {
  if (!idField(form)) return;
  const rows = Object.entries((await fact("rows")) ?? {}).slice(-300);
  await setFact("rows", { ...Object.fromEntries(rows), [idField(form).value]: digest(form) });
};

// --- opened again ---

// What a person has changed since this script began stays: they were faster than this device.
const fill = (form, record) => {
  const refused = form.querySelector(".wrongs"); // the version stays the one that the server answered
  const { changed } = states.get(form);
  const given = new Map();
  record.fields.forEach(([name, value]) => given.set(name, [...(given.get(name) ?? []), value]));
  for (const part of form.elements) {
    if (!part.name || SKIPPED.includes(part.name) || part.type === "file" || (part.type === "hidden" && refused)) continue;
    if (changed.has(changedBy(part))) continue;
    const values = given.get(part.name) ?? [];
    if (part.type === "checkbox" || part.type === "radio") part.checked = values.includes(part.value);
    else if (values.length) part.value = values[0];
  }
  takeUp(form, record);
};
const changedBy = (part) => (part.type === "checkbox" ? part : part.name); // a box for itself, a choice as a whole
// What is put right keeps its place and its time: those of its group behind it go on waiting.
const takeUp = (form, { photos, turn, made, why, html, group }) => {
  const state = states.get(form);
  Object.assign(state, { photos: [...photos, ...state.photos], turn, made, why, html, group: why ? group : undefined });
  redraw(form);
};
const throwAway = (form) => {
  const away = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: "Throw it away" });
  away.addEventListener("click", async () => {
    states.get(form).sending = true;
    await forget(draftKey(form));
    location.reload();
  });
  return away;
};
const offer = async (form) => {
  const all = await kept();
  const mine = all.filter((one) => one.state === "typed" && [form.dataset.hold, form.dataset.holdAlso].includes(one.form));
  for (const record of mine.sort((one, other) => other.at - one.at)) {
    if (!(await own(form, record.key))) continue; // another tab is typing it
    fill(form, record);
    if (record.key !== draftKey(form)) await keepInstead([record.key], recordOf(form, "typed"));
    // Refused while nobody looked: the form as the server answered it, both values where somebody else was faster.
    if (record.html && record.form === form.dataset.hold && showRefused(form, record.html)) return;
    if (record.why) note(form, `Not saved: ${record.why}`, throwAway(form));
    else note(form, `What you typed ${time(record.at)} and did not save is here again.`, throwAway(form));
    return;
  }
  await own(form, draftKey(form));
  sayWaiting(form, all);
};
// The form as the server refused it stands here: what belongs to it, as it was typed since.
const takeUpRefused = async (form) => {
  const mine = (await kept()).find((one) => one.key === draftKey(form));
  if (!mine) return;
  fill(form, mine);
  sayKept(form);
};
// Without a row of its own the form may stand here again while what was sent from it still waits.
const sayWaiting = (form, all) => {
  const waits = !idField(form) && all.find((one) => one.form === form.dataset.hold && one.state === "waiting");
  if (waits) note(form, `Sent off ${time(waits.made ?? waits.at)}, kept on this device until it is saved. Sent again it takes the place of that.`);
};
// This tab holds the record until the page goes: whether it got it.
const own = (form, key) =>
  new Promise((got) => {
    alone(key, (mine) => {
      got(Boolean(mine));
      return mine && navigator.locks ? new Promise(() => {}) : undefined;
    }, { ifAvailable: true });
  });

// --- sent ---

const progress = (form, key) => {
  const bar = Object.assign(document.createElement("progress"), { max: 1, value: 0 });
  bar.setAttribute("aria-label", "Sending");
  const follow = (part) => {
    if (part.detail.key === key && part.detail.of) bar.value = part.detail.sent / part.detail.of;
  };
  document.addEventListener("kept:progress", follow);
  (form.querySelector(".acts") ?? form).append(bar);
  return () => {
    document.removeEventListener("kept:progress", follow);
    bar.remove();
  };
};
const rest = (form, resting) => [...form.elements].filter((part) => part.type === "submit").forEach((one) => { one.disabled = resting; });

// The form for the next one of its kind, under a key of its own.
const another = (form) => {
  if (form.hasAttribute("data-hold-next") || form.querySelector(".wrongs")) next(form, SKIPPED);
  else form.reset();
  startAgain(form);
  idField(form).value = newId();
  Object.assign(states.get(form), { photos: [], first: typed(form), turn: undefined, made: undefined, why: undefined, html: undefined, group: undefined, was: undefined });
  redraw(form);
  own(form, draftKey(form));
};
const refusedHere = async (form, record, answer) => {
  if (answer.ended) return note(form, answer.why);
  Object.assign(states.get(form), { turn: record.turn, made: record.made, group: record.group, why: answer.why || "Not taken.", html: answer.html });
  await keepInstead([record.key], recordOf(form, "typed"));
  if (!answer.html || !showRefused(form, answer.html)) note(form, answer.why);
};
// Whether the next page opens without us: with the worker it does; else it might be the browser's own, which knows of nothing.
const opens = (address) =>
  navigator.serviceWorker?.controller ? true : fetch(address).then(({ ok }) => ok, () => false);
const onItsWay = async (form, record, answer) => {
  const said = { unreachable: NO_NETWORK, behind: BEHIND, late: LATE };
  tell("kept:waiting", { record, answer });
  const { holdThen } = form.dataset;
  if (holdThen && (await opens(holdThen))) return location.assign(holdThen);
  if (form.isConnected && idField(form)) another(form);
  return note(form, answer.portal || !said[answer.outcome] ? answer.why : said[answer.outcome]);
};
// The device is full: it goes straight to the server, or it stays in the form.
const straight = async (form, record) => {
  note(form, NOT_KEPT);
  const answer = await sendUnkept(record);
  if (answer.outcome === "refused" && answer.html) return showRefused(form, answer.html);
  if (answer.outcome !== "saved") return note(form, answer.outcome === "unreachable" ? NOWHERE : `${answer.why} ${NOT_KEPT}`);
  for (const photo of followersOf(record)) {
    const { outcome } = await sendUnkept(photo);
    if (outcome !== "saved") return note(form, "Saved, but not all photos: take them again when this device has room.");
  }
  await forget(draftKey(form)).catch(() => {});
  return settle(form, record, answer);
};
const settle = (form, record, answer) => {
  if (form.isConnected && form.hasAttribute("data-hold-next")) another(form);
  return saved(record, answer, form);
};
const keepWaiting = async (form, record) => {
  const former = idField(form) ? [] : (await kept()).filter((one) => one.form === record.form && one.state !== "typed");
  await keepInstead([draftKey(form), ...former.map((one) => one.key)], record);
  await remember(form);
};
const submit = async (form) => {
  const state = states.get(form);
  clearTimeout(state.timer);
  state.sending = true;
  rest(form, true);
  await state.ready;
  sameAgain(form);
  const record = recordOf(form, "waiting");
  note(form, "");
  const done = progress(form, record.key);
  const end = () => {
    done();
    rest(form, false);
    state.sending = false;
  };
  try {
    await keepWaiting(form, record);
  } catch {
    return straight(form, record).finally(end);
  }
  navigator.serviceWorker?.ready.then((worker) => worker.sync?.register("outbox")).catch(() => {});
  const answered = deliver(record);
  const waited = new Promise((late) => { setTimeout(late, PATIENCE, { outcome: "late" }); });
  const hurried = form.dataset.holdThen || (form.hasAttribute("data-hold-next") && !record.photos.length);
  const answer = await (hurried ? Promise.race([answered, waited]) : answered);
  end();
  if (answer.outcome === "refused") return refusedHere(form, record, answer);
  if (answer.outcome !== "saved") return onItsWay(form, record, answer);
  // What follows it, and what waited for it; the page that it leads to sends them, where this one would be cut off at it.
  if (!answer.to || form.dataset.holdRefresh) sendAll();
  return settle(form, record, answer);
};

// --- every held form on the page, also one that comes later ---

const begin = (form) => {
  if (states.has(form) || !person() || !("indexedDB" in window)) return;
  asOfNow(form); // before its key is read
  states.set(form, { photos: [], first: typed(form), changed: new Set(), sending: false, timer: 0, ready: undefined });
  form.removeAttribute("data-guard"); // this module sends it, without a network too
  if (form.hasAttribute("data-hold-each")) return eachOf(form, (state) => recordOf(form, state), () => remember(form));
  const opened = form.querySelector(".wrongs") ? takeUpRefused(form) : freshId(form).then(() => offer(form));
  states.get(form).ready = opened.catch(() => {});
};
const beginAll = (within) => within.querySelectorAll?.("form[data-hold]").forEach(begin);

document.addEventListener("input", ({ target }) => {
  if (!states.has(target.form) || target.type === "file") return;
  states.get(target.form).changed.add(changedBy(target));
  soon(target.form);
});
document.addEventListener("change", async ({ target }) => {
  const { form } = target;
  if (!states.has(form) || form.hasAttribute("data-hold-each")) return;
  if (target.type === "file") {
    await take(form, states.get(form), target);
    redraw(form);
  } else states.get(form).changed.add(changedBy(target)); // also what a script set, as a key that chooses a code
  soon(form);
});
document.addEventListener("submit", (press) => {
  if (!states.has(press.target)) return;
  press.preventDefault();
  if (!states.get(press.target).sending && !press.target.hasAttribute("data-hold-each")) submit(press.target);
});
document.addEventListener("visibilitychange", () => document.hidden && document.querySelectorAll("form[data-hold]").forEach(write));
document.addEventListener("htmx:load", (loaded) => beginAll(loaded.target.parentNode ?? document));
addEventListener("pageshow", ({ persisted }) => persisted && document.querySelectorAll("form[data-hold]").forEach(freshId));
// What went out by itself, on the page that it belongs to.
document.addEventListener("kept:saved", ({ detail: { record, answer } }) => {
  const forms = [...document.querySelectorAll("form[data-hold]")].filter((form) => states.has(form));
  if (forms.some((form) => states.get(form).sending) || record.page.split("?")[0] !== location.pathname) return;
  const form = forms.find((one) => one.dataset.hold === record.form);
  if (form?.dataset.holdRefresh) refresh(form.dataset.holdRefresh);
  else if (document.querySelector("#rows") && !answer.to) saved(record, answer);
  if (form && !idField(form)) note(form, "");
});
addEventListener("online", () => {
  document.querySelectorAll(".kept-note").forEach((said) => said.textContent.startsWith(NO_NETWORK) && said.remove());
});
beginAll(document);
