// A page that comes from this phone, or was left open, is hours old. What the server put into its fields as of then is
// made as of now before anybody types:
//   data-now     on a field of a day, or of a day and time: it moves with London's clock as long as nobody changed it
//   data-fresh   on the hidden key of the row to be made: every opening of a page from the phone has a key of its own,
//                else the second thing entered on it would be taken for the first, and be lost
// A form that came back with what was wrong is left alone: it is the same thing still.

import { newId } from "./device.js";

const MINUTE = 60_000;
const DAY = 1440 * MINUTE;
const LONDON = new Intl.DateTimeFormat("en-GB", {
  timeZone: "Europe/London", hourCycle: "h23", year: "numeric", month: "numeric", day: "numeric", hour: "numeric", minute: "numeric",
});
const packed = () => Date.parse(document.body.dataset.packed ?? "");
const madeAt = () => packed() || performance.timeOrigin;
// What London's clock shows, in milliseconds as if it were UTC: differences are those of the clock on the wall.
const wall = (at) => {
  const part = Object.fromEntries(LONDON.formatToParts(at).map(({ type, value }) => [type, Number(value)]));
  return Date.UTC(part.year, part.month - 1, part.day, part.hour, part.minute);
};

// The value `text` ("2026-11-26" or "2026-11-26T08:12") of a page made at `made`, as the same page would have it at `now`.
export const moved = (text, made, now) => {
  const moment = text.includes("T");
  const at = Date.parse(moment ? `${text}Z` : text);
  if (Number.isNaN(at)) return text;
  const [then, today] = [wall(made), wall(Math.max(made, now))];
  const on = moment ? today - then : (Math.floor(today / DAY) - Math.floor(then / DAY)) * DAY;
  return new Date(at + on).toISOString().slice(0, moment ? 16 : 10);
};

const ours = new WeakMap(); // field: what stands in it since nobody typed there
const untouched = (field) => field.value === (ours.get(field) ?? field.defaultValue);
const move = (field) => {
  if (!field.defaultValue || !untouched(field)) return;
  field.value = moved(field.defaultValue, madeAt(), Date.now());
  ours.set(field, field.value);
};
const known = new Set();

// Make a form as of now; once for each, when it is first seen.
export const asOfNow = (form) => {
  if (known.has(form) || form.querySelector(".wrongs")) return;
  known.add(form);
  form.querySelectorAll("[data-now]").forEach(move);
  if (packed()) form.querySelectorAll("input[data-fresh]").forEach((field) => { field.value = newId(); });
};
// The form was emptied for the next of its kind: its times are those of now again.
export const startAgain = (form) =>
  form.querySelectorAll("[data-now]:not([data-stays], [data-stays] *)").forEach((field) => {
    field.value = field.defaultValue;
    ours.set(field, field.value);
    move(field);
  });
// Whether the field `name` of a form stands as the clock set it: nothing that anybody typed.
export const byTheClock = (form, name) => {
  const field = form.elements.namedItem(name);
  return Boolean(field?.matches?.("[data-now]") && known.has(form) && untouched(field));
};

const moveAll = () => known.forEach((form) => (form.isConnected ? form.querySelectorAll("[data-now]").forEach(move) : known.delete(form)));
document.addEventListener("visibilitychange", () => document.hidden || moveAll());
addEventListener("pageshow", moveAll);
document.querySelectorAll("form").forEach(asOfNow);
