// The page that closes a remedial, with and without signal: what waits on this phone for it is laid over what the server
// wrote, and the list of what is still missing shrinks with every photo, reading and word, kept here or saved.

import { judgedRecord, mark } from "../inspections/beside.js";
import { waitingFor } from "../jobsite/device.js";

const time = (at) => new Date(at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
const element = (name, text, more = {}) => Object.assign(document.createElement(name), { textContent: text, ...more });
const valueOf = (record, name) => record.fields.find(([field]) => field === name)?.[1] ?? "";

// What stands between a remedial and its closing, a sentence each: the same as `still_missing` in works/rules.py.
export const stillMissing = (asked, given) => {
  const says = (text) => (text ?? "").trim() !== "";
  const missing = says(given.no_photo_reason) ? [] : asked.unseen.map(({ words }) => `A photo after the work: ${words}.`);
  missing.push(...asked.readings.filter(({ read }) => !read).map(({ name }) => `The ${name}.`));
  if (!says(given.exception_reason)) missing.push(...asked.readings.map(({ name, read }) => doubt(name, read)).filter(Boolean));
  if (asked.certificate && !given.certificate) missing.push(`The number or the file of the ${asked.certificate}.`);
  return missing;
};
const doubt = (name, read) => {
  if (!read || (read.passed && read.in_check)) return "";
  if (!read.passed) return `The ${name} fails: put the circuit right and read again, or say why it is put up.`;
  return `The ${name} is from an instrument out of its check: read again, or say why it is put up.`;
};

// The same with what waits on this phone: a photo without an observation shows all, the last reading of each counts.
export const withKept = (asked, photos, readings) => {
  const all = photos.includes("");
  const unseen = all ? [] : asked.unseen.filter(({ of }) => !photos.includes(of));
  return { ...asked, unseen, readings: asked.readings.map((one) => ({ ...one, read: readings.get(one.need) ?? one.read })) };
};

const form = document.querySelector("#closing");
const group = document.querySelector("#closed-here")?.dataset.group;
const needOf = (record) => /required-readings\/([\w-]+)\//.exec(record.action)?.[1] ?? "";

const given = () => ({
  no_photo_reason: form.elements.namedItem("no_photo_reason")?.value,
  exception_reason: form.elements.namedItem("exception_reason")?.value,
  certificate:
    (form.elements.namedItem("certificate_number")?.value ?? "").trim() !== "" ||
    Boolean(form.elements.namedItem("certificate_file")?.files.length || form.querySelector(".photos li")),
});
const list = (missing) => {
  const place = document.querySelector("#missing");
  if (!place) return;
  const sentences = missing.join("\n");
  if (place.dataset.said === sentences) return; // read aloud only when it changed
  place.dataset.said = sentences;
  const rows = element("ul", "");
  rows.append(...missing.map((sentence) => element("li", sentence)));
  const nothing = element("p", "");
  nothing.append(element("strong", "Nothing is missing to close."));
  place.replaceChildren(...(missing.length ? [element("h3", "Still missing to close"), rows] : [nothing]));
};

// How a reading that waits here came out, by what the server wrote beside its field; without a field it proves nothing.
const PASSES = ["pass", "warning", "noted"];
const judgedHere = (record) => {
  const judged = judgedRecord(record);
  return { judged, read: { passed: PASSES.includes(judged?.result), in_check: Boolean(judged) && !judged.doubts } };
};
// "typed" with a reason: refused, and taken up again to be put right.
const stateOf = (record) =>
  record.state === "waiting"
    ? `On this phone since ${time(record.made)}, not sent yet.`
    : `Not saved: ${record.why || "see what is wrong, put it right and send it again."}`;
const readingLine = (record) => {
  const { judged } = judgedHere(record);
  const line = element("p", `${record.label}: ${valueOf(record, "value")} `);
  if (PASSES.includes(judged?.result) || judged?.result === "fail") line.append(mark(judged.result), ` ${judged.words}`);
  else if (judged) line.append(element("span", judged.words, { className: "error" }));
  if (judged?.doubts) line.append(" ", element("span", judged.doubts, { className: "late" }));
  line.append(element("br", ""), element("span", stateOf(record), { className: "soft" }));
  return line;
};
const showReadings = (records) => {
  for (const place of document.querySelectorAll("[data-reading-waits]")) {
    const mine = records.filter((one) => one.kind === "reading" && needOf(one) === place.dataset.readingWaits);
    place.replaceChildren(...mine.map(readingLine));
    place.hidden = !mine.length;
  }
};
const showPower = (records) => {
  document.querySelectorAll("[data-power-here]").forEach((one) => one.remove());
  const steps = records.filter((one) => one.kind === "power");
  for (const record of steps) {
    const kind = valueOf(record, "kind");
    const where = valueOf(record, "where");
    const said = element("p", `${record.label}${where ? `: ${where}` : ""}. `, { className: "on-phone" });
    said.dataset.powerHere = "";
    said.append(element("span", stateOf(record), { className: "soft" }));
    document.querySelector(`#power-${kind}-said`)?.append(said);
  }
  warn(steps.filter(({ state }) => state === "waiting").at(-1)); // one that was refused never came to be
};
// The last step kept here is later than any that the server knows: what it warned of gives way to what holds now.
const warn = (last) => {
  const kind = last ? valueOf(last, "kind") : "";
  const hide = (place, hidden) => document.querySelector(place)?.toggleAttribute("hidden", hidden);
  ["#live-said", "#dead-said"].forEach((place) => hide(place, kind !== ""));
  hide("#dead-said-here", kind !== "on");
  hide("#live-said-here", kind !== "off");
};
const showClosed = (records) => {
  const place = document.querySelector("#closed-here");
  const one = records.findLast(({ kind }) => kind === "closing" || kind === "leaving");
  place.hidden = !one;
  form?.querySelector(".acts")?.toggleAttribute("hidden", one?.state === "waiting");
  if (!one) return;
  const what = one.kind === "closing" ? "Closed" : "Left unfinished";
  place.textContent =
    one.state === "waiting"
      ? `${what} on this phone at ${time(one.made)}. It goes out by itself when there is signal; nothing more is to be done here.`
      : `${what} on this phone at ${time(one.made)}, and NOT saved. Put it right and send it again. ${one.why ?? ""}`;
};

let missing = [];
let pressed = ""; // what was missing when it was pressed last
// What the server would refuse is said here, while the engineer still stands there; pressed again it goes all the same, since
// this page may be older than what somebody else added.
const hold = (press) => {
  const now = missing.join("\n");
  const asks = navigator.onLine && !document.body.dataset.packed; // the server answers at once
  if (press.target !== form || asks || !now || now === pressed || !document.querySelector("#missing")) return;
  press.preventDefault();
  press.stopImmediatePropagation();
  pressed = now;
  const place = document.querySelector("#missing");
  place.querySelector(".caution")?.remove();
  place.append(element("p", "Nothing was sent: this is still missing. Press again to send it all the same.", { className: "caution" }));
  place.scrollIntoView({ block: "center" });
};

const show = async () => {
  const records = await waitingFor(group);
  showReadings(records);
  showPower(records);
  showClosed(records);
  const facts = document.querySelector("#closing-facts");
  if (!form || !facts) return;
  const sent = records.filter(({ state }) => state === "waiting");
  const photos = sent.filter(({ kind }) => kind === "photo").map((one) => valueOf(one, "observation"));
  const readings = new Map(sent.filter(({ kind }) => kind === "reading").map((one) => [needOf(one), judgedHere(one).read]));
  missing = stillMissing(withKept(JSON.parse(facts.dataset.closing), photos, readings), given());
  list(missing);
};
const again = () => show().catch(() => {}); // a browser that keeps nothing: the server's own list stands

if (group) {
  document.addEventListener("submit", hold, true);
  ["kept:changed", "kept:refreshed", "kept:saved", "kept:refused"].forEach((name) => document.addEventListener(name, again));
  document.addEventListener("input", ({ target }) => target.form === form && again());
  document.addEventListener("change", ({ target }) => target.form === form && again());
  again();
}
