// Found something else: a circuit brings its board along, and the circuits of the board that was chosen stand first.

const form = document.querySelector("form[data-hold^='found:']");
const part = (name) => form?.elements.namedItem(name);
const groupsOf = (circuits) => [...circuits.querySelectorAll("optgroup")];
const nameOf = (board) => board.selectedOptions[0]?.textContent ?? "";

const ownFirst = () => {
  const [board, circuits] = [part("board"), part("circuit")];
  const own = groupsOf(circuits).find((group) => group.label === nameOf(board));
  if (own) circuits.querySelector("option").after(own);
};
document.addEventListener("change", ({ target }) => {
  if (!form || target.form !== form) return;
  const [board, circuits] = [part("board"), part("circuit")];
  if (target === board) {
    const chosen = circuits.selectedOptions[0]?.closest("optgroup");
    if (chosen && chosen.label !== nameOf(board)) circuits.value = "";
    ownFirst();
  }
  if (target === circuits) {
    const label = circuits.selectedOptions[0]?.closest("optgroup")?.label;
    const meant = [...board.options].find((one) => one.value && one.textContent === label);
    if (meant) board.value = meant.value;
  }
});
// What the server would refuse hours later, when there is signal again, is said while one still stands there: of what was
// made safe all must be said, with a photo or why there is none (inspections/forms/found.py, operations/making_safe.py).
const NEEDED = { safe_how: "how", safe_what: "what exactly was done, and where", agreed_with: "which duty-holder agreed to it", look_again_on: "when somebody looks again" };
const lacking = () => {
  if (!part("made_safe")?.checked) return [];
  const empty = Object.keys(NEEDED).filter((name) => part(name) && !part(name).value?.trim()).map((name) => NEEDED[name]);
  const here = form.querySelector("[data-hold-here]");
  const shown = here?.files.length || here?.closest(".field")?.querySelector(".photos li");
  return here && !shown && !part("no_photo")?.value.trim() ? [...empty, "a photo of it, or why there is none"] : empty;
};
document.addEventListener("submit", (press) => {
  if (!form || press.target !== form) return;
  const missing = lacking();
  form.querySelector(".lacking")?.remove();
  if (!missing.length) return;
  press.preventDefault();
  press.stopImmediatePropagation();
  const said = Object.assign(document.createElement("p"), { className: "caution lacking", textContent: `Not sent yet. Of what was made safe say: ${missing.join("; ")}.` });
  said.setAttribute("role", "alert");
  form.querySelector(".acts").before(said);
}, true);
if (form) ownFirst();
