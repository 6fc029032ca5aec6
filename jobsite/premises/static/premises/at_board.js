// In front of a board: how one knows is chosen once for all ways, and what waits on this phone, or was refused, stands where
// it belongs, beside what the server wrote. A way that was entered here is there to be verified before any server knows it:
// its key was made on this phone, and of one board nothing overtakes what was sent before it.

import { waitingFor } from "../jobsite/device.js";

const rows = document.querySelector("#rows[data-board]");
const group = rows.dataset.board;
const NO_KEY = "00000000-0000-0000-0000-000000000000";
const blank = document.querySelector("#new-way");
const chosen = document.querySelector("[data-how] select");
const element = (name, className, text) => Object.assign(document.createElement(name), { className, textContent: text });
const value = (record, name) => record.fields.find(([field]) => field === name)?.[1] ?? "";
const keyIn = (record) => /\/circuits\/([\w-]+)\//.exec(record.action)?.[1];

// --- how one knows: kept in this tab, since the page on the phone has one address ---

const KEPT = `how:${group}`;
const remembered = () => {
  try {
    return sessionStorage.getItem(KEPT) ?? "";
  } catch {
    return "";
  }
};
const apply = () => {
  const how = chosen.value;
  document.querySelectorAll("[data-tap]").forEach((one) => { one.hidden = !how; });
  document.querySelector("[data-told]").hidden = how !== "told";
  document.querySelectorAll('select[name="verified_how"]').forEach((one) => {
    if (one.value && one.value !== one.dataset.how) return; // chosen for this way
    [...one.options].forEach((option) => { option.defaultSelected = option.value === how; }); // also after the form is emptied
    one.value = one.dataset.how = how;
  });
};
if (chosen) {
  chosen.value = chosen.value || remembered();
  chosen.form.querySelector("button").closest(".field").hidden = true;
  chosen.addEventListener("change", () => {
    try {
      sessionStorage.setItem(KEPT, chosen.value);
    } catch {
      // Chosen again on the next page.
    }
    apply();
  });
  chosen.form.addEventListener("submit", (press) => press.preventDefault());
}

// One tap says what the label says, whatever was typed into the form before it was folded away again.
document.addEventListener("click", ({ target }) => {
  const tap = target.closest("[data-tap]");
  if (tap) tap.form.elements.namedItem("designation").value = tap.dataset.tap;
});
// In the list of what waits it is called by what was said.
document.addEventListener("submit", ({ target }) => {
  const said = target.elements?.namedItem("designation")?.value;
  const number = target.closest("li")?.querySelector(".waynumber")?.textContent;
  if (said && target.dataset.hold) target.dataset.holdLabel = number ? `Way ${number} is ${said}` : `The board is ${said}`;
}, true);

// --- a way that was entered on this phone ---

const phases = () => [...(document.querySelector('#next-way [name="phase"]')?.options ?? [])];
const wayName = (record) => {
  const [way, phase] = [value(record, "way"), value(record, "phase")];
  return phase === "3" ? way : `${way}${phases().some((one) => one.value === phase) ? phase : ""}`;
};
const standIn = (record) => {
  const key = value(record, "id");
  if (document.getElementById(`way-${key}`)) return;
  rows.insertAdjacentHTML("beforeend", blank.innerHTML.replaceAll(NO_KEY, key));
  const row = document.getElementById(`way-${key}`);
  row.dataset.new = "";
  const label = value(record, "label_found");
  row.querySelector(".waynumber").textContent = wayName(record);
  row.querySelectorAll(".vh").forEach((one) => { one.textContent = ` on way ${wayName(record)}`; });
  row.querySelector("[data-label]").textContent = label ? ` labelled “${label}”` : " no label recorded";
  row.querySelector('[name="designation"]').defaultValue = label;
  const tap = row.querySelector("[data-tap]");
  if (label) tap.dataset.tap = label;
  else tap.remove();
  document.querySelector("#no-way").hidden = true;
  document.dispatchEvent(new CustomEvent("htmx:load", { detail: { elt: row } }));
  row.dispatchEvent(new CustomEvent("htmx:load", { bubbles: true, detail: { elt: row } }));
};

// --- what waits, or was refused ---

const howSaid = (record) => [...(chosen?.options ?? [])].find((one) => one.value === value(record, "verified_how"))?.text ?? "";
const spareSaid = (record) =>
  value(record, "spare") ? `spare, ${value(record, "blanked") ? "blanked" : "not blanked"}` : `not spare${value(record, "blanked") ? ", blanked" : ""}`;
const SAID = {
  verify: (record) => `${value(record, "verified_how") === "told" ? "Told" : "Verified"} on this phone: “${value(record, "designation")}”, ${howSaid(record)}`,
  way: () => "Entered on this phone",
  spare: (record) => `Said on this phone: ${spareSaid(record)}`,
  "take-back": () => "Taken back on this phone",
};
SAID["verify-board"] = SAID.verify;
SAID["take-back-board"] = SAID["take-back"];

const placeOf = (record) => {
  if (record.kind.endsWith("-board")) return document.querySelector("#own");
  if (record.kind === "way") return document.getElementById(`way-${value(record, "id")}`);
  if (record.kind === "take-back") return document.querySelector(`form[data-hold="${record.form}"]`)?.closest("li");
  return document.getElementById(`way-${keyIn(record)}`);
};
const line = (record) => {
  const refused = record.state !== "waiting";
  const said = element("p", refused ? "caution kept-here" : "kept-here", `${SAID[record.kind](record)}, `);
  said.append(element("strong", "", refused ? `not saved: ${record.why || "put it right"}` : "waiting"));
  return said;
};
// The boxes stand as they were last ticked here: whoever ticks another must not untick that.
const tick = (record, place) => {
  const form = place.querySelector('form[data-hold^="spare:"]');
  for (const name of ["spare", "blanked"]) form.elements.namedItem(name).checked = Boolean(value(record, name));
};
// What was said of a way needs no second tap; the next one is the next of which nothing was said.
const progress = (records) => {
  const seen = new Set(records.filter(({ kind, state }) => kind === "verify" && state === "waiting").map((one) => `way-${keyIn(one)}`));
  document.querySelectorAll("#rows > li").forEach((row) => {
    row.classList.toggle("said-here", seen.has(row.id));
    if (seen.has(row.id)) row.querySelectorAll("[data-tap]").forEach((one) => { one.hidden = true; });
  });
  if (!seen.size) return;
  const place = document.querySelector("#progress");
  place.append(element("p", "kept-here", `On this phone, waiting: ${seen.size} more verified`));
  const [link, row] = [place.querySelector(".say a"), document.querySelector("#rows > .believed:not(.said-here)")];
  if (!link) return;
  link.hidden = !row;
  if (row) Object.assign(link, { href: `#${row.id}`, textContent: `next: way ${row.querySelector(".waynumber").textContent}` });
};
let drawing = 0;
const draw = async () => {
  const mine = (drawing += 1);
  const records = (await waitingFor(group)).filter((one) => SAID[one.kind]);
  if (mine !== drawing) return;
  const entered = records.filter(({ kind }) => kind === "way");
  const known = new Set(entered.map((one) => `way-${value(one, "id")}`));
  document.querySelectorAll("#rows > [data-new]").forEach((row) => known.has(row.id) || row.remove());
  if (blank) entered.forEach(standIn);
  document.querySelectorAll(".kept-here").forEach((one) => one.remove());
  for (const record of records.toReversed()) {
    const place = placeOf(record);
    if (!place) continue;
    (place.querySelector(".wayline") ?? place.querySelector("header")).after(line(record));
    if (record.kind === "spare" && record.state === "waiting") tick(record, place);
  }
  if (chosen) apply();
  progress(records);
};

// What is saved takes the place of its stand-in, which therefore must be there before anybody else hears of it.
// Also while another form of this page is just being sent, when nobody else puts it there; twice is harmless.
document.addEventListener("kept:saved", ({ detail: { record, answer } }) => {
  if (record.group !== group || !SAID[record.kind]) return;
  if (record.kind === "way") {
    standIn(record);
    delete document.getElementById(`way-${value(record, "id")}`).dataset.new;
  }
  if (answer.html && !answer.to) htmx.swap(document.body, answer.html, { swapStyle: "none" });
}, true);
document.addEventListener("kept:waiting", ({ detail: { record } }) => record.kind.startsWith("verify") && placeOf(record)?.querySelector(".say-what")?.removeAttribute("open"));
document.addEventListener("kept:changed", draw);
document.addEventListener("htmx:afterSettle", draw);
if (chosen) apply();
draw();
