// A form with data-hold-each (hold.js): each photo chosen is kept and goes on its own at once, with what the form says at
// that moment. Beside the form stands what becomes of each: being sent, waiting, not saved and why, saved.

import { takeOff, thumb } from "./chosen.js";
import { alone, forget, found, keep, kept, newId } from "./device.js";
import { refresh } from "./answers.js";
import { shrink } from "./photos.js";
import { before, sendAll, sendUnkept } from "./sending.js";

const element = (name, text = "", more = {}) => Object.assign(document.createElement(name), { textContent: text, ...more });
const FULL = "Not kept: this device is full. It is sent straight away.";
const NOWHERE = "Not kept and not sent: this device is full and the server cannot be reached. Take it again when there is room.";
const wordsFor = (record, all) => {
  if (record.state === "refused") return `Not saved: ${record.why}`;
  if (record.why) return record.why;
  return before(record, all).some(({ state }) => state !== "waiting") ? "Waits for the one before it." : "Waits for the network.";
};

// `recordOf(state)` is what the form says now; `remember` notes that its row was made.
export const eachOf = (form, recordOf, remember) => {
  const list = element("ul", "", { className: "photos going" });
  list.setAttribute("aria-live", "polite");
  form.append(list);
  form.querySelectorAll("[data-save]").forEach((button) => { button.hidden = true; });
  const rows = new Map();

  const rowOf = (record) => {
    if (rows.has(record.key)) return rows.get(record.key);
    const row = element("li");
    const bar = element("progress", "", { max: 1, value: 0, hidden: true });
    bar.setAttribute("aria-label", "Sending");
    const said = element("span", "", { className: "soft" });
    const off = takeOff("Take off this photo", async () => {
      await alone("outbox", () => forget(record.key)); // not in the middle of being sent
      row.remove();
    });
    row.append(thumb(record.photos[0].file, "Photo, not saved yet"), bar, said, off);
    list.append(row);
    rows.set(record.key, { row, bar, said, off });
    return rows.get(record.key);
  };
  const show = async () => {
    const all = await kept();
    const mine = all.filter((one) => one.form === form.dataset.hold && one.state !== "typed");
    for (const record of mine) {
      const { said, bar } = rowOf(record);
      if (bar.hidden || record.state === "refused") said.textContent = wordsFor(record, all);
    }
    for (const [key, { row }] of rows) {
      if (!row.dataset.saved && !mine.some((one) => one.key === key)) gone(key, row);
    }
  };
  // Another tab saved it, or somebody took it off.
  const gone = (key, row) => {
    row.remove();
    rows.delete(key);
  };
  const straight = async (record) => {
    const { said, row } = rowOf(record);
    row.dataset.saved = "no";
    said.textContent = FULL;
    const answer = await sendUnkept(record);
    if (answer.outcome === "saved") return ended({ record, answer });
    return (said.textContent = answer.outcome === "unreachable" ? NOWHERE : `Not saved: ${answer.why}`);
  };
  const add = async (name, file) => {
    form.elements.namedItem("id").value = newId();
    const record = { ...recordOf("waiting"), photos: [{ name, file: await shrink(file) }], again: true };
    record.kind ||= "photo";
    rowOf(record);
    try {
      await keep(record);
    } catch {
      return straight(record);
    }
    await remember();
    return show();
  };
  const ended = async ({ record }) => {
    const shown = rows.get(record.key);
    if (!shown) return;
    shown.row.dataset.saved = "yes";
    shown.said.textContent = "Saved.";
    shown.bar.remove();
    shown.off.remove();
    const left = (await kept()).some((one) => one.form === form.dataset.hold && one.state === "waiting");
    if (left || !form.dataset.holdRefresh) return;
    await refresh(form.dataset.holdRefresh);
    for (const [key, { row }] of rows) if (row.dataset.saved === "yes") gone(key, row);
  };

  form.addEventListener("change", async ({ target }) => {
    if (target.type !== "file") return;
    const files = [...target.files];
    const { name } = target;
    target.value = "";
    for (const file of files) await add(name, file);
    navigator.serviceWorker?.ready.then((worker) => worker.sync?.register("outbox")).catch(() => {});
    sendAll();
  });
  const here = (does) => (event) => (form.isConnected ? does(event.detail) : undefined);
  document.addEventListener("kept:progress", here(({ key, sent, of }) => {
    const shown = rows.get(key);
    if (!shown || !of) return;
    Object.assign(shown.bar, { hidden: false, value: sent / of });
    shown.said.textContent = "Being sent.";
  }));
  document.addEventListener("kept:saved", here(ended));
  ["kept:failed", "kept:refused", "kept:unreachable", "kept:stopped"].forEach((name) =>
    document.addEventListener(name, here(async ({ record }) => {
      const shown = rows.get(record.key);
      if (shown && (await found(record.key))) shown.bar.hidden = true;
      await show();
    })));
  document.addEventListener("kept:changed", here(show));
  show().catch(() => {});
};
