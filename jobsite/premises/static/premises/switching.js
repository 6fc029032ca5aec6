// Finding what feeds a board by switching off, with and without signal: who loses power by the device that is chosen, before
// it is switched off; and what was noted on this phone and waits, since what it tells is worked out elsewhere.

import { waitingFor } from "../jobsite/device.js";

const chosen = document.querySelector('form[data-hold] select[name="off"]');
const show = () => {
  const blocks = [...chosen.form.querySelectorAll("[data-off]")];
  const known = blocks.some((one) => one.dataset.off === chosen.value);
  blocks.forEach((one) => { one.hidden = one.dataset.off !== (known ? chosen.value : chosen.value && "unknown"); });
  chosen.form.dataset.holdLabel = `Switching test: ${chosen.selectedOptions[0]?.text ?? ""}`;
};
if (chosen) {
  chosen.addEventListener("change", show);
  document.addEventListener("reset", () => setTimeout(show));
  show();
}

const place = document.querySelector("#on-phone");
const group = place?.dataset.group ?? chosen?.form.dataset.holdGroup;
const draw = async () => {
  const noted = (await waitingFor(group)).filter(({ kind }) => ["switching", "tracing"].includes(kind));
  place.replaceChildren(...noted.map((record) => {
    const line = document.createElement("p");
    line.className = record.state === "waiting" ? "kept-here" : "caution kept-here";
    const state = document.createElement("strong");
    state.textContent = record.state === "waiting" ? "waiting" : `not saved: ${record.why || "put it right"}`;
    line.append(`Noted on this phone: ${record.label || record.what}, `, state);
    return line;
  }));
};
if (place && group) {
  document.addEventListener("kept:changed", draw);
  draw();
}
