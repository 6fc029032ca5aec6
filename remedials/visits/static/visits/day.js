// My day and the page of a visit say what waits on this phone for each remedial and each visit (data-on-phone names them):
// nothing that was done without signal looks as if it had been forgotten.

import { kept } from "../jobsite/device.js";

const ONE = {
  closing: ["closed on this phone", "closed on this phone"],
  leaving: ["left part done on this phone", "left part done on this phone"],
  photo: ["1 photo", "photos"],
  reading: ["1 reading", "readings"],
  power: ["1 step of the power", "steps of the power"],
  found: ["1 thing found", "things found"],
  in: ["checked in on this phone, nobody knows yet", "checked in on this phone, nobody knows yet"],
  out: ["checked out on this phone, nobody knows yet", "checked out on this phone, nobody knows yet"],
  "no-access": ["that nobody let us in", "that nobody let us in"],
  attempt: ["1 attempt to get in", "attempts to get in"],
  settled: ["1 thing done", "things done"],
};
const ORDER = Object.keys(ONE);
const OTHER = ["1 form", "forms"];

const about = (record) => {
  const names = (record.fields ?? []).filter(([name, value]) => value && (name === "remedial" || name === "visit"));
  return [record.group ?? "", ...names.map(([name, value]) => `${name}:${value}`)];
};
const counted = (records) => {
  const by = new Map();
  for (const { kind } of records) by.set(kind in ONE ? kind : "", (by.get(kind in ONE ? kind : "") ?? 0) + 1);
  const place = ([kind]) => (ORDER.indexOf(kind) + ORDER.length + 1) % (ORDER.length + 1);
  return [...by].sort((one, other) => place(one) - place(other)).map(([kind, count]) => {
    const [single, several] = ONE[kind] ?? OTHER;
    return count === 1 || single === several ? single : `${count} ${several}`;
  });
};
// "Closed on this phone, 2 photos, 1 reading: waiting for signal"
export const words = (records) => {
  const waiting = records.filter((one) => one.state === "waiting");
  const refused = records.filter((one) => one.state === "refused");
  const said = [];
  if (waiting.length) said.push(`${counted(waiting).join(", ")}: waiting for signal`);
  if (refused.length) said.push(`${counted(refused).join(", ")}: not saved, see above what is wrong`);
  const text = said.join(". ");
  return text && text[0].toUpperCase() + text.slice(1);
};

const show = async () => {
  const places = [...document.querySelectorAll("[data-on-phone]")];
  if (!places.length) return;
  const records = (await kept()).filter((one) => one.state !== "typed");
  for (const place of places) {
    const keys = new Set(place.dataset.onPhone.split(" "));
    const text = words(records.filter((one) => about(one).some((key) => keys.has(key))));
    if (place.textContent !== text) place.textContent = text;
    place.hidden = !text;
  }
  // What was closed on this phone is not offered to be closed once more.
  const done = records.filter(({ kind, state }) => state === "waiting" && (kind === "closing" || kind === "leaving"));
  for (const link of document.querySelectorAll("a.button[href*='/remedials/']")) {
    link.hidden = done.some(({ group }) => /\/(close|part-done)\/$/.test(link.pathname) && link.pathname.includes(group.slice("remedial:".length)));
  }
};
const again = () => show().catch(() => {}); // a browser that keeps nothing has nothing to show
["changed", "waiting", "saved", "refused", "failed"].forEach((name) => document.addEventListener(`kept:${name}`, again));
document.addEventListener("visibilitychange", () => document.hidden || again());
again();
