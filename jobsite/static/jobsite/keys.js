// Keys of the desk: "/" goes to the search box, Ctrl+Enter saves the form that has the cursor. A folded filter says what
// was chosen, and what is folded away is opened for paper.

const typing = (target) => target.closest("input, textarea, select, [contenteditable]");

document.addEventListener("keydown", (press) => {
  if (press.key === "/" && !press.ctrlKey && !press.metaKey && !press.altKey && !typing(press.target)) {
    const find = document.querySelector("[data-find]");
    if (find) {
      press.preventDefault();
      find.focus();
      find.select();
    }
  }
  if (press.key === "Enter" && (press.ctrlKey || press.metaKey)) {
    const form = press.target.closest("form");
    const save = form?.querySelector("[data-save]");
    if (save && !save.disabled) {
      press.preventDefault();
      form.requestSubmit(save);
    }
  }
});

// After a refusal the reader stands at what is wrong.
const toWrongs = (within) => within.querySelector?.(".wrongs")?.focus();
toWrongs(document);
document.addEventListener("htmx:afterSettle", (settled) => toWrongs(settled.target));

document.addEventListener("change", (change) => {
  const filter = change.target.closest(".narrow-by");
  if (!filter) return;
  const said = (field) => (field.value && field.selectedOptions ? field.selectedOptions[0].textContent : field.value);
  const chosen = [...filter.querySelectorAll("select, input")].map(said).filter(Boolean);
  filter.querySelector("[data-chosen]").textContent = chosen.join(", ");
});

let unfolded = [];
addEventListener("beforeprint", () => {
  unfolded = [...document.querySelectorAll("details:not([open])")];
  unfolded.forEach((one) => (one.open = true));
});
addEventListener("afterprint", () => unfolded.forEach((one) => (one.open = false)));
