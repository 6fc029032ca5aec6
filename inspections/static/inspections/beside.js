// The verdict beside a field while one types, with and without signal: every input or choice with data-judge, the JSON of
// which the server wrote (queries/phone_limits.py). The phone judges at once, always; what counts is the server's verdict
// when the reading is kept, by the same limits. Other readings that one goes by (the ends of a ring, Zdb of the board) are
// those on record, those waiting on this phone, and those typed on this page, the latest last.

import { kept } from "../jobsite/device.js";
import { judge, readTyped } from "./judging.js";
import { full } from "./exact.js";

const MARKS = {
  pass: ["ok", "pass"],
  warning: ["ok", "pass with a warning"],
  fail: ["fail", "fail"],
  noted: ["ok", "noted"],
};
const TICK =
  '<svg viewBox="0 0 10 10" aria-hidden="true"><path d="M.7.7h8.6v8.6H.7Z" fill="none" stroke="currentColor"/><path d="m2.5 5.3 1.8 1.9 3.3-4.3" fill="none" stroke="currentColor" stroke-width="1.4"/></svg>';
const CROSS =
  '<svg viewBox="0 0 10 10" aria-hidden="true"><path d="m1.5 1.5 7 7m0-7-7 7" fill="none" stroke="currentColor" stroke-width="1.6"/></svg>';
const ANOTHER_EDITION = "It is judged by that report's edition when it is kept.";
const OUT_OF_CHECK = "This instrument is out of its check.";

const element = (name, text, more = {}) => Object.assign(document.createElement(name), { textContent: text, ...more });
export const mark = (result) => {
  const [css, words] = MARKS[result];
  const panel = element("span", "", { className: `code ${css}` });
  panel.innerHTML = css === "ok" ? TICK : CROSS; // our own drawing, never what was typed
  panel.append(words);
  return panel;
};

const fields = () => [...document.querySelectorAll("[data-judge]")];
const aboutOf = (field) => JSON.parse(field.dataset.judge);
// The fields beside one: of a sheet by its own name, of a form for one reading by theirs.
const names = (field) =>
  field.name === "value"
    ? { asRead: "as_read", limit: "limit_entered", source: "limit_source", corrected: "already_corrected" }
    : Object.fromEntries(
        [["asRead", "as-read"], ["limit", "limit"], ["source", "source"], ["corrected", "corrected"]].map(([one, end]) => [one, `${field.name}-${end}`]),
      );

// What `get(name)` finds in a form or in a record that waits; a box that is not ticked is "".
const howTested = (field, get) => {
  const by = names(field);
  const insulates = aboutOf(field).asked;
  return {
    asRead: Boolean(get(by.asRead)),
    limit: get(by.limit).trim(),
    source: get(by.source),
    corrected: Boolean(get(by.corrected)),
    volts: insulates ? get("test_volts") : "",
    connected: Boolean(insulates && get("equipment_connected")),
  };
};
const ofForm = (form) => {
  const data = new FormData(form);
  return (name) => String(data.get(name) ?? "");
};
const ofRecord = (record) => (name) => record.fields.find(([one]) => one === name)?.[1] ?? "";

// --- other readings ---

const note = (found, about, typed) => {
  try {
    const { number, above } = readTyped(about, typed);
    if (number && !above) (found[about.at] ??= {})[about.q] = full(number);
  } catch {
    // No reading of it: nothing that another goes by.
  }
};
// The fields that a record waiting on this phone has readings for, with what was typed.
const readIn = (record) =>
  fields()
    .map((field) => [field, field.name === "value" ? ofOne(field, record) : ofRecord(record)(field.name)])
    .filter(([, typed]) => typed);
const ofOne = (field, record) => (field.form?.dataset.hold === record.form ? ofRecord(record)("value") : "");
const othersFor = (about, found) => ({
  ...about.others,
  ...(found[about.board]?.["loop-impedance-board"] && { "loop-impedance-board": found[about.board]["loop-impedance-board"] }),
  ...found[about.at],
});
let waiting = [];
const gathered = () => {
  const found = {};
  for (const record of waiting) readIn(record).forEach(([field, typed]) => note(found, aboutOf(field), typed));
  for (const field of fields()) if (field.value) note(found, aboutOf(field), field.value);
  return found;
};

// --- instruments ---

const today = () => new Date().toLocaleDateString("en-CA", { timeZone: "Europe/London" });
// What speaks against an instrument today; "" for nothing.
export const against = (choice, key) => {
  const tool = choice?.dataset.tools && JSON.parse(choice.dataset.tools)[key];
  if (!tool) return "";
  const inCheck = tool.from && tool.to && tool.from <= today() && today() <= tool.to;
  return tool.wrong || (inCheck ? "" : OUT_OF_CHECK);
};

// --- beside the field ---

const place = (field) => {
  const known = document.getElementById(`j-${field.id}`);
  if (known) return known;
  const made = element("div", "", { id: `j-${field.id}`, className: "judged" });
  (field.closest(".entry") ?? field).after(made);
  field.setAttribute("aria-describedby", [field.getAttribute("aria-describedby"), made.id].filter(Boolean).join(" "));
  return made;
};
const asReadBox = (field, ticked) => {
  const label = element("label", " It showed exactly this");
  const box = element("input", "", { type: "checkbox", name: names(field).asRead, checked: ticked });
  label.prepend(box);
  return label;
};
const show = (field, judged, asRead, doubts) => {
  const at = place(field);
  const held = document.activeElement?.name === names(field).asRead && at.contains(document.activeElement);
  const rows = MARKS[judged.result] ? [mark(judged.result), ` ${judged.words}`] : [element("span", judged.words, { className: judged.result === "later" ? "soft" : "error" })];
  if (doubts && MARKS[judged.result]) rows.push(" ", element("span", doubts, { className: "late" }));
  const own = !at.closest("form").querySelector(`[name="${names(field).asRead}"]:not(#${CSS.escape(at.id)} *)`);
  if (own && (judged.result === "doubt" || asRead)) rows.push(" ", asReadBox(field, asRead));
  at.replaceChildren(...rows);
  field.dataset.came = judged.result;
  if (held) at.querySelector("input")?.focus();
};
const judgeField = (field, found) => {
  const { form } = field;
  const about = aboutOf(field);
  const get = ofForm(form);
  const report = form.elements.namedItem("inspection");
  if (report && report.value !== (report.querySelector("option[selected]")?.value ?? "")) {
    return show(field, { result: "later", words: ANOTHER_EDITION }, false, "");
  }
  const how = { ...howTested(field, get), others: othersFor(about, found) };
  const doubts = about.unit ? against(form.elements.namedItem("instrument"), get("instrument")) : "";
  return show(field, judge(about, field.value, how), how.asRead, doubts);
};
// What stood there while the field was empty (the limit, the last reading) comes back when it is emptied.
const shown = new WeakMap();
const before = (field) => (field.matches("select") || field.defaultValue === "" ? [...place(field).childNodes] : []);
const judgeAll = () => {
  const found = gathered();
  for (const field of fields()) {
    if (field.value.trim()) {
      if (!shown.has(field)) shown.set(field, before(field));
      judgeField(field, found);
    } else if (shown.has(field)) {
      place(field).replaceChildren(...shown.get(field));
      shown.delete(field);
    }
  }
};

// How a reading that waits on this phone comes out, by what stands beside its field; null where that isn't on this page.
export const judgedRecord = (record) => {
  const field = fields().find((one) => one.form?.dataset.hold === record.form);
  if (!field) return null;
  const about = aboutOf(field);
  const get = ofRecord(record);
  const how = { ...howTested(field, get), others: othersFor(about, gathered()) };
  const doubts = about.unit ? against(field.form.elements.namedItem("instrument"), get("instrument")) : "";
  return { ...judge(about, get("value"), how), doubts };
};

// A reading that the server could not take is not sent: it would hold up all behind it, where there is no signal for hours.
const NOT_TAKEN = ["unreadable", "doubt", "enter"];
const hold = (press) => {
  const field = press.target.querySelector("[data-judge][name=value]");
  if (!field?.value.trim()) return;
  judgeAll();
  if (!NOT_TAKEN.includes(field.dataset.came)) return;
  press.preventDefault();
  press.stopImmediatePropagation();
  field.focus();
};

const refresh = async () => {
  waiting = (await kept().catch(() => [])).filter(({ state, kind }) => state === "waiting" && kind === "reading");
  if (document.querySelector("[data-judge]")) judgeAll();
};
if (typeof document !== "undefined" && document.querySelector("[data-judge]")) {
  const ofOurs = ({ target }) => target.form?.querySelector("[data-judge]") && judgeAll();
  document.addEventListener("input", ofOurs);
  document.addEventListener("change", ofOurs);
  document.addEventListener("submit", hold, true);
  ["kept:changed", "kept:refreshed", "kept:saved", "kept:refused"].forEach((name) => document.addEventListener(name, refresh));
  refresh();
}
