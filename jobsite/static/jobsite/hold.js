// A form with data-hold loses nothing: what is typed is kept on this device (device.js) from the first letter, offered
// again when the form is opened again, sent when there is a network (outbox.js), forgotten once the server has saved it.
//   data-hold="observation:KEY"   which form it is; with a field `id` each row to be made is kept by itself
//   data-hold-next                when it is sent, the next empty one opens at once; fields with data-stays stay as they are
//   data-hold-swap                on what surrounds the form: there the answer is put when something is wrong
//   data-hold-also="observation:KEY"  another form whose refused rows are put right in this one (a reissue, for its report)
//   data-hold-row="o-KEY"         the row on the page that the form stands in: the answer takes its place

import { alone, forget, keep, kept, newId, person } from "./device.js";
import { send, show } from "./outbox.js";

const SKIPPED = ["csrfmiddlewaretoken", "next"];
const PATIENCE = 3000; // so long the next one waits for the answer; after that it goes on and the answer comes when it comes
const NO_NETWORK = "No network. It is kept on this device and goes out by itself when there is.";
const states = new WeakMap();

const fieldsOf = (form) =>
  [...new FormData(form)].filter(([name, value]) => typeof value === "string" && !SKIPPED.includes(name));
const typed = (form) => JSON.stringify(fieldsOf(form).filter(([name]) => name !== "id"));
const idOf = (form) => form.elements.namedItem("id")?.value ?? "";
const keyOf = (form) => [person, form.dataset.hold, idOf(form)].filter(Boolean).join(":");
const words = (form) => {
  const text = form.elements.namedItem("text") ?? form.elements.namedItem("what") ?? form.elements.namedItem("extent");
  return (text?.value || document.querySelector("h1")?.textContent || "").trim().slice(0, 80);
};
const recordOf = (form, state) => ({
  key: keyOf(form),
  person,
  form: form.dataset.hold,
  action: new URL(form.action).pathname,
  page: form.dataset.holdRow ? new URL(form.action).pathname : location.pathname,
  what: words(form),
  fields: fieldsOf(form),
  photos: states.get(form).photos,
  state,
  at: Date.now(),
});

const note = (form, text, more) => {
  form.querySelector(".kept-note")?.remove();
  if (!text) return;
  const said = Object.assign(document.createElement("p"), { className: "caution kept-note", textContent: `${text} ` });
  said.setAttribute("role", "status");
  if (more) said.append(more);
  form.prepend(said);
};

// --- while it is typed ---

const write = async (form) => {
  const state = states.get(form);
  if (!state || state.sending || !form.isConnected) return;
  clearTimeout(state.timer);
  const changed = typed(form) !== state.first || state.photos.length > 0;
  try {
    if (changed) await keep(recordOf(form, "typed"));
    else await forget(keyOf(form));
  } catch {
    note(form, "This device keeps nothing (a private window, or it is full): stay on this page until it is saved.");
  }
};
const soon = (form) => {
  const state = states.get(form);
  clearTimeout(state.timer);
  state.timer = setTimeout(() => write(form), 200);
};

// --- photographs and other files ---

const thumbs = (form) => {
  const { photos } = states.get(form);
  const input = form.querySelector("input[type=file]");
  if (!input) return;
  const field = input.closest(".field");
  field.querySelector(".photos")?.remove();
  const list = Object.assign(document.createElement("ul"), { className: "photos" });
  photos.forEach((photo, at) => {
    const row = document.createElement("li");
    const seen = photo.file.type.startsWith("image/");
    const picture = document.createElement(seen ? "img" : "span");
    if (seen) {
      Object.assign(picture, { alt: `Photo ${at + 1}, not saved yet`, width: 96, src: URL.createObjectURL(photo.file) });
      picture.addEventListener("load", () => URL.revokeObjectURL(picture.src));
    } else picture.textContent = `${photo.file.name} `;
    const off = Object.assign(document.createElement("button"), { type: "button", className: "button plain", textContent: "Take off" });
    off.setAttribute("aria-label", `Take off photo ${at + 1}`);
    off.addEventListener("click", () => {
      photos.splice(at, 1);
      thumbs(form);
      soon(form);
    });
    row.append(picture, off);
    list.append(row);
  });
  if (photos.length) field.append(list);
};
const take = (form, input) => {
  const state = states.get(form);
  if (!input.multiple) state.photos = state.photos.filter((photo) => photo.name !== input.name);
  state.photos.push(...[...input.files].map((file) => ({ name: input.name, file })));
  input.value = "";
  thumbs(form);
};
// A browser does not send files twice, but this device kept them: the form that came back says so.
const sayKept = (form) => {
  const count = states.get(form).photos.length;
  const again = form.querySelector("[data-files-again]");
  if (!again || !count) return;
  again.textContent = `${count === 1 ? "The file that you chose is kept and goes" : `The ${count} files that you chose are kept and go`} with it when you save again.`;
};

// --- opened again ---

const fill = (form, record) => {
  const given = new Map();
  record.fields.forEach(([name, value]) => given.set(name, [...(given.get(name) ?? []), value]));
  for (const part of form.elements) {
    if (!part.name || SKIPPED.includes(part.name) || part.type === "file") continue;
    const values = given.get(part.name) ?? [];
    if (part.type === "checkbox" || part.type === "radio") part.checked = values.includes(part.value);
    else if (values.length) part.value = values[0];
  }
  states.get(form).photos = [...record.photos];
  thumbs(form);
};
const offer = async (form) => {
  const found = (await kept()).filter((one) => one.state === "typed" && [form.dataset.hold, form.dataset.holdAlso].includes(one.form));
  for (const record of found.reverse()) {
    if (!(await own(form, record.key))) continue; // another tab is typing it
    fill(form, record);
    if (record.form !== form.dataset.hold) {
      await keep(recordOf(form, "typed"));
      await forget(record.key);
    }
    const away = Object.assign(document.createElement("button"), { type: "button", className: "button", textContent: "Throw it away" });
    away.addEventListener("click", async () => {
      states.get(form).sending = true;
      await forget(keyOf(form));
      location.reload();
    });
    note(form, `What you typed ${new Date(record.at).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" })} and did not save is here again.`, away);
    return;
  }
  await own(form, keyOf(form));
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
  form.querySelector(".acts").append(bar);
  return () => {
    document.removeEventListener("kept:progress", follow);
    bar.remove();
  };
};
const swap = (html, target, how) => htmx.swap(target, html, { swapStyle: how });

// The answer to something saved: a row of the page, or another page.
const saved = (record, answer) => {
  if (answer.to) return location.assign(answer.to);
  const id = record.fields.find(([name]) => name === "id")?.[1];
  const after = /afterend:#(o-[\w-]+)/.exec(answer.html);
  if (after && !document.getElementById(after[1])) return location.reload(); // somebody else's row stands before it
  const old = document.getElementById(`o-${id ?? record.form.split(":").at(-1)}`);
  old?.remove();
  swap(answer.html, document.body, "none");
};
const next = (form) => {
  const state = states.get(form);
  const item = form.querySelector("[data-counts]");
  const counted = /^(\D*)(\d{1,6})$/.exec(item?.value.trim() ?? "");
  for (const part of form.elements) {
    if (!part.name || SKIPPED.includes(part.name) || part.matches("[data-stays], [data-stays] *")) continue;
    if (part.type === "radio" || part.type === "checkbox") part.checked = part.defaultChecked && part.value === "";
    else if (part.tagName === "SELECT") part.selectedIndex = 0;
    else if (part.type !== "hidden") part.value = "";
  }
  if (item && counted) item.value = `${counted[1]}${Number(counted[2]) + 1}`;
  form.elements.namedItem("id").value = newId();
  Object.assign(state, { photos: [], sending: false, first: typed(form) });
  form.querySelector(".wrongs")?.remove();
  form.querySelectorAll(".field.wrong").forEach((field) => field.classList.remove("wrong"));
  form.querySelectorAll(".field .error").forEach((error) => error.remove());
  thumbs(form);
  own(form, keyOf(form));
  const first = form.querySelector("[autofocus]") ?? form.querySelector("input:not([type=hidden]), textarea, select");
  first?.focus();
  first?.select?.();
};
const refusedHere = async (form, record, answer) => {
  if (answer.ended) {
    note(form, answer.why);
    return show();
  }
  await keep({ ...record, state: "typed" });
  if (!answer.html) return note(form, answer.why);
  const row = form.dataset.holdRow && document.getElementById(form.dataset.holdRow);
  const target = row ?? form.closest("[data-hold-swap]");
  if (target) return swap(answer.html, target, "outerHTML");
  const page = new DOMParser().parseFromString(answer.html, "text/html").querySelector("#main");
  return swap(page.innerHTML, document.querySelector("#main"), "innerHTML");
};
const submit = async (form) => {
  const state = states.get(form);
  clearTimeout(state.timer);
  state.sending = true;
  const record = recordOf(form, "waiting");
  const buttons = [...form.elements].filter((part) => part.type === "submit");
  note(form, "");
  try {
    await keep(record);
  } catch {
    note(form, "This device keeps nothing: stay on this page until it is saved.");
  }
  buttons.forEach((one) => { one.disabled = true; });
  const done = progress(form, record.key);
  const answered = send(record);
  const waited = new Promise((late) => { setTimeout(late, PATIENCE, { outcome: "late" }); });
  const answer = await (form.hasAttribute("data-hold-next") && !record.photos.length ? Promise.race([answered, waited]) : answered);
  done();
  buttons.forEach((one) => { one.disabled = false; });
  state.sending = false;
  if (answer.outcome === "refused") return refusedHere(form, record, answer);
  if (answer.outcome === "saved") saved(record, answer);
  if (answer.outcome === "late") answered.finally(show); // what then comes of it is heard below
  if (form.isConnected && form.hasAttribute("data-hold-next")) next(form);
  if (answer.outcome === "unreachable") note(form, NO_NETWORK);
  if (answer.outcome === "failed" || answer.outcome === "stopped") note(form, answer.why);
  return show();
};

const begin = (form) => {
  if (states.has(form) || !person || !("indexedDB" in window)) return;
  states.set(form, { photos: [], first: typed(form), sending: false, timer: 0 });
  form.removeAttribute("data-guard"); // this module sends it, without a network too
  if (form.querySelector(".wrongs")) {
    kept().then((found) => {
      const mine = found.find((one) => one.key === keyOf(form));
      if (!mine) return;
      states.get(form).photos = [...mine.photos];
      thumbs(form);
      sayKept(form);
    }).catch(() => {});
  } else offer(form).catch(() => {});
};
const beginAll = (within) => within.querySelectorAll?.("form[data-hold]").forEach(begin);

document.addEventListener("input", ({ target }) => states.has(target.form) && target.type !== "file" && soon(target.form));
document.addEventListener("change", ({ target }) => {
  if (!states.has(target.form)) return;
  if (target.type === "file") take(target.form, target);
  soon(target.form);
});
document.addEventListener("submit", (press) => {
  if (!states.has(press.target)) return;
  press.preventDefault();
  if (!states.get(press.target).sending) submit(press.target);
});
document.addEventListener("visibilitychange", () => document.hidden && document.querySelectorAll("form[data-hold]").forEach(write));
document.addEventListener("htmx:load", (loaded) => beginAll(loaded.target.parentNode ?? document));
// What went out by itself, on the page that it belongs to.
document.addEventListener("kept:saved", ({ detail }) => {
  const here = detail.record.page === location.pathname && !detail.answer.to;
  const typing = [...document.querySelectorAll("form[data-hold]")].some((form) => states.get(form)?.sending);
  if (here && !typing && document.querySelector("#rows")) saved(detail.record, detail.answer);
});
addEventListener("online", () => {
  document.querySelectorAll(".kept-note").forEach((said) => said.textContent.startsWith(NO_NETWORK) && said.remove());
});
beginAll(document);
